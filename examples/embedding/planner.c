/* SPDX-License-Identifier: BSD-3-Clause */
/*
 * A planner in C99 on top of libcapsim: relax the rim now, or wait?
 *
 *   An eye with a weak zonule is followed for two months. There the planner forks the simulation:
 *
 *       day 0 ---- shared past ---- day 60 --+-- cut today -------------------- day 240
 *                                            +-- wait ---- cut on day 150 ----- day 240
 *
 *   The eye is invented, and so are its numbers. For research and teaching, not for treating a patient.
 *
 * Run:    planner [result.h5], or planner --digits for one number that every language must give alike
 * Shows:  wrong input refused with every violation; progress and cancel; cuts foreseen; fork; results
 *         copied into the planner's own memory; flags and cautions; a result file, when there is HDF5.
 */
#include <capsim.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const double cut_hours[4] = {12, 3, 6, 9};
static const double cut_length_mm = 0.75;
static const double fork_day = 60, late_cut_day = 150, last_day = 240;

/* What the planner keeps of one future. */
typedef struct {
  const char* name;
  size_t rows;
  double *day, *area_mm2;
} curve;

static void stop(const char* doing, const char* why) {
  fprintf(stderr, "planner: %s: %s\n", doing, why);
  exit(1);
}

/* A text of the library in memory of our own; the sizes are asked for first. */
typedef capsim_status (*scenario_text)(const capsim_scenario*, char*, size_t, size_t*);

static char* copy_of(scenario_text fetch, const capsim_scenario* scenario) {
  size_t size = 0;
  char* text = NULL;
  if (fetch(scenario, NULL, 0, &size) != CAPSIM_OK || !(text = malloc(size)) ||
      fetch(scenario, text, size, NULL) != CAPSIM_OK)
    stop("fetching a text", "no memory");
  return text;
}

static void must_set(capsim_status status, const capsim_scenario* scenario) {
  if (status != CAPSIM_OK) stop("describing the eye", copy_of(capsim_scenario_error, scenario));
}

static void must_step(capsim_status status, const capsim_simulation* simulation, const char* doing) {
  char why[512] = "";
  if (status == CAPSIM_OK) return;
  capsim_simulation_error(simulation, why, sizeof why, NULL);
  stop(doing, why[0] ? why : capsim_status_text(status));
}

/* ---- the eye, as the user of the planner describes it -------------------------------------------- */

static capsim_scenario* describe_eye(void) {
  capsim_scenario* eye = capsim_scenario_create();
  if (!eye) stop("describing the eye", "no memory");
  must_set(capsim_scenario_set_text(eye, "name", "invented: weak zonule below"), eye);
  must_set(capsim_scenario_set_text(eye, "eye", "left"), eye);
  must_set(capsim_scenario_set_number(eye, "duration_days", last_day), eye);
  must_set(capsim_scenario_set_number(eye, "output_every_days", 30), eye);
  must_set(capsim_scenario_set_number(eye, "opening.diameter_mm", 4.5), eye);
  must_set(capsim_scenario_set_number(eye, "zonule.strength", 0.2), eye);
  must_set(capsim_scenario_set_number(eye, "zonule.strength_by_hour.6", 0.05), eye);
  must_set(capsim_scenario_set_number(eye, "contraction.chronic_signal", 0.2), eye);
  must_set(capsim_scenario_set_null(eye, "contraction.band_width_mm"), eye);
  must_set(capsim_scenario_set_integer(eye, "mesh.around", 24), eye); /* coarse: an example in a second */
  must_set(capsim_scenario_set_integer(eye, "mesh.radial", 4), eye);
  return eye;
}

/* Two slips of a user: both are found at once, each with its place, its limit and a hint. */
static void show_how_wrong_input_is_refused(const capsim_scenario* eye) {
  capsim_scenario* wrong = capsim_scenario_copy(eye);
  size_t k, count;
  char line[512];
  if (!wrong) stop("copying", "no memory");
  must_set(capsim_scenario_set_number(wrong, "opening.diameter_mm", 4500), wrong);
  must_set(capsim_scenario_set_number(wrong, "zonule.strength", 20), wrong);
  if (capsim_scenario_check(wrong) != CAPSIM_INVALID_SCENARIO) stop("checking", "wrong input was accepted");
  count = capsim_scenario_violation_count(wrong);
  printf("A scenario with %zu mistakes is refused:\n", count);
  for (k = 0; k < count; ++k) {
    if (capsim_scenario_violation(wrong, k, CAPSIM_VIOLATION_LINE, line, sizeof line, NULL) != CAPSIM_OK)
      stop("reading a violation", "it does not fit");
    printf("  %s\n", line);
  }
  capsim_scenario_destroy(wrong);
}

/* ---- running ------------------------------------------------------------------------------------- */

typedef struct {
  int steps;
  int cancel_after; /* the user presses Cancel after so many steps; 0: never */
} follow;

static int32_t show_progress(const capsim_progress* now, void* user) {
  follow* followed = user;
  (void)now; /* a planner would move its progress bar to now->day / now->duration_days */
  ++followed->steps;
  return followed->cancel_after && followed->steps >= followed->cancel_after ? CAPSIM_CANCEL : CAPSIM_CONTINUE;
}

static double* numbers_of(const capsim_history* history, const char* name, size_t* count) {
  double* values = NULL;
  if (capsim_history_values(history, name, NULL, 0, count) != CAPSIM_OK ||
      !(values = malloc(*count * sizeof *values)) ||
      capsim_history_values(history, name, values, *count, count) != CAPSIM_OK)
    stop("fetching numbers", name);
  return values;
}

static curve curve_of(const char* name, const capsim_history* history) {
  curve kept = {NULL, 0, NULL, NULL};
  kept.name = name;
  kept.day = numbers_of(history, "day", &kept.rows);
  kept.area_mm2 = numbers_of(history, "opening_area_mm2", &kept.rows);
  return kept;
}

/* Relaxes the rim on `day`, follows to the end, and keeps curve and history. */
static curve one_future(const char* name, const capsim_simulation* past, double day, capsim_history* history) {
  capsim_simulation* future = capsim_simulation_fork(past);
  curve kept;
  if (!future) stop("forking", "no memory");
  must_step(capsim_simulation_advance_to(future, day, NULL), future, "waiting");
  must_step(capsim_simulation_cut(future, cut_hours, 4, cut_length_mm), future, "cutting");
  must_step(capsim_simulation_advance_to(future, last_day, NULL), future, "following");
  if (capsim_simulation_history(future, history) != CAPSIM_OK) stop("fetching the history", name);
  kept = curve_of(name, history);
  capsim_simulation_destroy(future);
  return kept;
}

static void print_curves(const curve* a, const curve* b) {
  size_t i, j = 0;
  printf("\n%8s  %22s  %22s\n%8s  %22s  %22s\n", "day", a->name, b->name, "", "opening [mm2]", "opening [mm2]");
  for (i = 0; i < a->rows; ++i) {
    while (j + 1 < b->rows && b->day[j] < a->day[i] - 1e-9) ++j;
    if (a->day[i] == b->day[j]) printf("%8.1f  %22.2f  %22.2f\n", a->day[i], a->area_mm2[i], b->area_mm2[j++]);
  }
}

/* What must stand beside the numbers: flags of this run, and the cautions. */
static void print_flags_and_cautions(const char* name, const capsim_history* history) {
  size_t k;
  char text[1024];
  for (k = 0; k < capsim_history_flag_count(history); ++k)
    if (capsim_history_flag_text(history, k, text, sizeof text, NULL) == CAPSIM_OK) printf("\n%s: %s\n", name, text);
  for (k = 0; k < capsim_history_caution_count(history); ++k)
    if (capsim_history_caution(history, k, text, sizeof text, NULL) == CAPSIM_OK) printf("\n%s\n", text);
}

static int print_digits(void) {
  static const char eye_text[] =
      "{\"format\": \"capsim-scenario\", \"version\": 1, \"name\": \"invented\", \"duration_days\": 40,"
      " \"output_every_days\": 20, \"mesh\": {\"level\": \"coarse\"}}";
  capsim_scenario* eye = capsim_scenario_create();
  capsim_history* history = capsim_history_create();
  double area = 0;
  if (!eye || !history) stop("starting", "no memory");
  must_set(capsim_scenario_read_json(eye, eye_text, sizeof eye_text - 1), eye);
  if (capsim_simulate(eye, NULL, history) != CAPSIM_OK ||
      capsim_history_outcome_value(history, "opening_area_mm2", &area) != CAPSIM_OK)
    stop("running", "there is no area");
  printf("%.17g\n", area);
  capsim_history_destroy(history);
  capsim_scenario_destroy(eye);
  return 0;
}

static int follow_two_futures(const char* file) {
  follow followed = {0, 3};
  capsim_run_options options = CAPSIM_RUN_OPTIONS;
  capsim_scenario* eye = describe_eye();
  capsim_simulation* past = capsim_simulation_create();
  capsim_history *now_history = capsim_history_create(), *late_history = capsim_history_create();
  curve now, late;
  double relief_now = 0, relief_late = 0;

  if (capsim_c_api() != CAPSIM_C_API) stop("loading", "the library has another interface than the header");
  if (!past || !now_history || !late_history) stop("starting", "no memory");
  printf("capsim %s\n%s\n\n", capsim_version(), capsim_research_caution());
  show_how_wrong_input_is_refused(eye);

  must_step(capsim_simulation_foresee_cuts(past, cut_hours, 4, cut_length_mm), past, "foreseeing");
  must_step(capsim_simulation_start(past, eye), past, "starting");
  options.progress = show_progress;
  options.user = &followed;
  if (capsim_simulation_advance_to(past, fork_day, &options) != CAPSIM_NOT_COMPLETED ||
      capsim_simulation_end(past) != CAPSIM_END_CANCELLED)
    stop("cancelling", "the run did not stop");
  printf("\nCancelled after %d steps, on day %.1f; going on.\n", followed.steps, capsim_simulation_day(past));
  followed.cancel_after = 0;
  must_step(capsim_simulation_advance_to(past, fork_day, &options), past, "following");

  now = one_future("cut on day 60", past, fork_day, now_history);
  late = one_future("cut on day 150", past, late_cut_day, late_history);
  print_curves(&now, &late);
  if (capsim_history_outcome_value(now_history, "area_loss_percent", &relief_now) != CAPSIM_OK ||
      capsim_history_outcome_value(late_history, "area_loss_percent", &relief_late) != CAPSIM_OK)
    stop("reading the outcomes", "there is no area_loss_percent");
  printf("\nArea lost by day %.0f: %.1f %% when cut on day 60, %.1f %% when cut on day 150.\n", last_day, relief_now,
         relief_late);
  print_flags_and_cautions("Cut on day 60", now_history);

  if (file) {
    const capsim_status saved = capsim_history_save(now_history, file);
    if (saved != (capsim_has_results_file() ? CAPSIM_OK : CAPSIM_NOT_BUILT)) {
      char why[512] = "";
      capsim_history_error(now_history, why, sizeof why, NULL);
      stop("saving", why);
    }
    printf("\n%s\n", saved == CAPSIM_OK ? file : "Not saved: this build has no result files.");
  }

  free(now.day);
  free(now.area_mm2);
  free(late.day);
  free(late.area_mm2);
  capsim_history_destroy(late_history);
  capsim_history_destroy(now_history);
  capsim_simulation_destroy(past);
  capsim_scenario_destroy(eye);
  return 0;
}

int main(int argc, char* argv[]) {
  if (argc > 1 && strcmp(argv[1], "--digits") == 0) return print_digits();
  return follow_two_futures(argc > 1 ? argv[1] : NULL);
}
