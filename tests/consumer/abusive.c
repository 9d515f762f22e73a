/* SPDX-License-Identifier: BSD-3-Clause */
/*
 * A host in C99 that does everything wrong, one thing after the other: each wrong call must be refused with its status,
 * and nothing may be read or written that is not there, nor be left behind. Run under valgrind where there is one.
 */
#include <capsim.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int failures = 0;
#define MUST(condition) \
  ((condition) ? (void)0 : (void)(++failures, fprintf(stderr, "%s:%d: not so: %s\n", __FILE__, __LINE__, #condition)))

static const char eye_text[] =
    "{\"format\": \"capsim-scenario\", \"version\": 1, \"duration_days\": 1, \"output_every_days\": 1,"
    " \"mesh\": {\"around\": 24, \"radial\": 2, \"order\": 1}}";

static capsim_scenario* eye(void) {
  capsim_scenario* s = capsim_scenario_create();
  MUST(s && capsim_scenario_read_json(s, eye_text, sizeof eye_text - 1) == CAPSIM_OK);
  return s;
}

static void texts_that_are_none(void) {
  static const char* const wrong[] = {"",
                                      "{",
                                      "[]",
                                      "null",
                                      "{\"format\": 1}",
                                      "\xff\xfe",
                                      "{\"a\": 1e999}",
                                      "{\"format\": \"capsim-scenario\", \"version\": 1, \"eye\": \"\\ud800\"}"};
  char deep[4000];
  size_t k, n = 0;
  capsim_scenario* s = capsim_scenario_create();
  for (k = 0; k < sizeof wrong / sizeof *wrong; ++k)
    MUST(capsim_scenario_read_json(s, wrong[k], strlen(wrong[k])) < CAPSIM_OK);
  memset(deep, '[', sizeof deep);
  MUST(capsim_scenario_read_json(s, deep, sizeof deep) < CAPSIM_OK);
  for (k = 0; k < sizeof eye_text - 1; k += 7) /* cut short everywhere; the buffer ends where the text does */
  {
    char* part = malloc(k ? k : 1);
    memcpy(part, eye_text, k);
    MUST(capsim_scenario_read_json(s, part, k) < CAPSIM_OK);
    free(part);
  }
  MUST(capsim_scenario_set_number(s, "opening.diameter_mm", NAN) < CAPSIM_OK || capsim_scenario_check(s) < CAPSIM_OK);
  MUST(capsim_scenario_set_number(s, "events[99].day", 1) < CAPSIM_OK);
  MUST(capsim_scenario_set_number(s, "....", 1) < CAPSIM_OK);
  MUST(capsim_scenario_set_number(s, "zonule.strength_by_hour.999999999999999999999", 1) < CAPSIM_OK);
  MUST(capsim_scenario_violation(s, 99, CAPSIM_VIOLATION_LINE, NULL, 0, &n) < CAPSIM_OK);
  MUST(capsim_scenario_violation(s, 0, 77, NULL, 0, &n) < CAPSIM_OK);
  capsim_scenario_destroy(s);
  capsim_scenario_destroy(NULL);
}

static void buffers_that_are_too_small(void) {
  capsim_scenario* s = eye();
  capsim_history* h = capsim_history_create();
  size_t n = 0, k;
  MUST(capsim_history_values(h, "day", NULL, 0, &n) == CAPSIM_NOT_FOUND);
  MUST(capsim_simulate(s, NULL, h) == CAPSIM_OK);
  MUST(capsim_history_values(h, "opening_area_mm2", NULL, 0, &n) == CAPSIM_OK && n == 2);
  for (k = 0; k <= n; ++k) {
    double* exact = malloc(k ? k * sizeof *exact : 1);
    MUST(capsim_history_values(h, "opening_area_mm2", exact, k, NULL) == (k < n ? CAPSIM_BUFFER_TOO_SMALL : CAPSIM_OK));
    free(exact);
  }
  MUST(capsim_history_message(h, NULL, 0, &n) == CAPSIM_OK);
  for (k = 1; k <= n; ++k) {
    char* exact = malloc(k);
    MUST(capsim_history_message(h, exact, k, NULL) == (k < n ? CAPSIM_BUFFER_TOO_SMALL : CAPSIM_OK));
    MUST(strlen(exact) < k);
    free(exact);
  }
  MUST(capsim_history_message(h, NULL, 5, NULL) == CAPSIM_BAD_ARGUMENT);
  MUST(capsim_history_value(h, "day", (size_t)-1, (size_t)-1, NULL) < CAPSIM_OK);
  MUST(capsim_history_outline_mm(h, 1000000, NULL, 0, &n) < CAPSIM_OK);
  capsim_history_destroy(h);
  capsim_scenario_destroy(s);
}

static void structs_of_no_size(void) {
  capsim_scenario* s = eye();
  capsim_history* h = capsim_history_create();
  capsim_run_options options = CAPSIM_RUN_OPTIONS;
  capsim_diagnostics diagnostics;
  capsim_part part;
  capsim_simulation* run = capsim_simulation_create();
  options.struct_size = 3;
  MUST(capsim_simulate(s, &options, h) == CAPSIM_BAD_ARGUMENT);
  options.struct_size = sizeof options;
  options.deadline_seconds = -1;
  MUST(capsim_simulate(s, &options, h) == CAPSIM_BAD_ARGUMENT);
  memset(&diagnostics, 0, sizeof diagnostics);
  MUST(capsim_history_diagnostics(h, &diagnostics) < CAPSIM_OK);
  memset(&part, 0, sizeof part);
  MUST(capsim_simulation_add_part(run, &part) == CAPSIM_BAD_ARGUMENT);
  part.struct_size = sizeof part; /* and no functions */
  MUST(capsim_simulation_add_part(run, &part) == CAPSIM_BAD_ARGUMENT);
  MUST(capsim_simulation_add_part(run, NULL) == CAPSIM_BAD_ARGUMENT);
  capsim_simulation_destroy(run);
  capsim_history_destroy(h);
  capsim_scenario_destroy(s);
}

/* A part that is wrong in one way after the other. */
static int how;
static void couple(const double* x, size_t count, capsim_cliques* cliques, void* user) {
  const int32_t pair[2] = {0, how == 1 ? 2000000000 : how == 2 ? -1 : 1};
  (void)x, (void)count, (void)user;
  capsim_cliques_add(cliques, pair, 2);
  capsim_cliques_add(cliques, NULL, 3);
}
static double energy(const double* x, size_t count, void* user) {
  (void)x, (void)count, (void)user;
  return how == 3 ? NAN : how == 4 ? HUGE_VAL : how == 5 ? -HUGE_VAL : 0;
}
static double gradient(const double* x, size_t count, double* g, void* user) {
  if (how == 6) g[count - 1] = NAN;
  return energy(x, count, user);
}
static void hessian(const double* x, size_t count, int32_t positive, capsim_tangent* tangent, void* user) {
  const double matrix[4] = {0, 0, 0, 0};
  (void)x, (void)count, (void)positive, (void)user;
  capsim_tangent_add(tangent, how == 7 ? 1000000 : 0, matrix);
  capsim_tangent_add(tangent, 0, NULL);
}

static void parts_that_break_their_contract(void) {
  capsim_scenario* s = eye();
  for (how = 0; how <= 7; ++how) {
    capsim_part part;
    char why[1024] = "";
    capsim_simulation* run = capsim_simulation_create();
    memset(&part, 0, sizeof part);
    part.struct_size = sizeof part;
    part.name = "part of the host";
    part.couplings = couple;
    part.energy = energy;
    part.gradient = gradient;
    part.hessian = hessian;
    MUST(capsim_simulation_add_part(run, &part) == CAPSIM_OK);
    MUST((capsim_simulation_start(run, s) == CAPSIM_OK) == (how == 0));
    MUST(capsim_simulation_error(run, why, sizeof why, NULL) == CAPSIM_OK);
    MUST((strstr(why, "part of the host") != NULL) == (how != 0));
    capsim_simulation_destroy(run);
  }
  capsim_scenario_destroy(s);
}

/* A law that is wrong in one way after the other. */
static void law_start(const double* cells, size_t points, double* y, void* user) {
  size_t k;
  (void)cells, (void)user;
  for (k = 0; k < points; ++k) y[k] = how == 1 ? NAN : 0;
}
static void law_rate(double day, const double* y, const double* stretches, size_t points, double* dydt, void* user) {
  size_t k;
  (void)day, (void)y, (void)stretches, (void)user;
  for (k = 0; k < points; ++k) dydt[k] = how == 2 ? HUGE_VAL : how == 3 && k + 1 == points ? NAN : 0;
}
static void law_apply(const double* y, size_t points, const capsim_tissue* tissue, void* user) {
  size_t k;
  (void)y, (void)user;
  for (k = 0; k < points; ++k) {
    tissue->fraction[k] = how == 4 ? 7 : 0.5;
    tissue->natural[0][k] = how == 5 ? -1 : 1;
  }
}

static void laws_that_break_their_contract(void) {
  capsim_scenario* s = eye();
  capsim_law law;
  memset(&law, 0, sizeof law);
  MUST(capsim_law_check(&law, NULL, 0, NULL) == CAPSIM_BAD_ARGUMENT); /* of no size */
  MUST(capsim_law_check(NULL, NULL, 0, NULL) == CAPSIM_BAD_ARGUMENT);
  law.struct_size = sizeof law;
  MUST(capsim_law_check(&law, NULL, 0, NULL) == CAPSIM_BAD_ARGUMENT); /* and no functions */
  law.name = "law of the host";
  law.variables = 1;
  law.start = law_start;
  law.rate = law_rate;
  law.apply = law_apply;
  for (how = 0; how <= 5; ++how) {
    char why[1024] = "";
    capsim_simulation* run = capsim_simulation_create();
    MUST(capsim_law_check(&law, why, sizeof why, NULL) == (how == 0 ? CAPSIM_OK : CAPSIM_BAD_GUEST));
    MUST((strstr(why, "law of the host") != NULL) == (how != 0));
    MUST(capsim_simulation_set_law(run, &law) == CAPSIM_OK);
    if (how <= 3) { /* what is wrong but finite is found by the check alone */
      const int32_t went =
          capsim_simulation_start(run, s) == CAPSIM_OK && capsim_simulation_advance_to(run, 1, NULL) == CAPSIM_OK;
      MUST(went == (how == 0));
    }
    capsim_simulation_destroy(run);
  }
  capsim_scenario_destroy(s);
}

/* Callbacks that call back and destroy what is at work. */
typedef struct {
  capsim_simulation* run;
  capsim_history* into;
  const capsim_scenario* eye;
} at_work;
static int32_t meddle(const capsim_progress* now, void* user) {
  at_work* at = user;
  (void)now;
  capsim_simulation_destroy(at->run);
  capsim_history_destroy(at->into);
  if (at->run) MUST(capsim_simulation_advance_to(at->run, 1, NULL) == CAPSIM_BUSY);
  if (at->run) MUST(capsim_simulation_start(at->run, at->eye) == CAPSIM_BUSY);
  if (at->into) MUST(capsim_simulate(at->eye, NULL, at->into) == CAPSIM_BUSY);
  return CAPSIM_CONTINUE;
}
static int32_t run_twice(size_t count, capsim_job job, void* batch, void* user) {
  size_t k;
  (void)user;
  for (k = 0; k <= count; ++k) job(batch, k / 2); /* the first ones twice, the last ones never, none beyond */
  job(batch, count + 5);
  return 0;
}

static void callbacks_that_meddle(void) {
  at_work at = {NULL, NULL, NULL};
  capsim_run_options options = CAPSIM_RUN_OPTIONS;
  capsim_scenario* s = eye();
  capsim_history* two[2];
  const capsim_scenario* both[2];
  char byte = 0;
  size_t n = 0;
  at.eye = s;
  options.progress = meddle;
  options.user = &at;
  at.run = capsim_simulation_create();
  MUST(capsim_simulation_advance_to(at.run, 1, NULL) == CAPSIM_NOT_STARTED);
  MUST(capsim_simulation_checkpoint(at.run, NULL, 0, &n) == CAPSIM_NOT_STARTED);
  MUST(capsim_simulation_start(at.run, s) == CAPSIM_OK);
  MUST(capsim_simulation_advance_to(at.run, 1, &options) == CAPSIM_OK);
  MUST(capsim_simulation_advance_to(at.run, NAN, NULL) == CAPSIM_BAD_ARGUMENT);
  MUST(capsim_simulation_restore(at.run, s, &byte, 1) == CAPSIM_BAD_CHECKPOINT);
  capsim_simulation_destroy(at.run);
  at.run = NULL;
  at.into = two[0] = capsim_history_create();
  two[1] = two[0];
  both[0] = both[1] = s;
  MUST(capsim_simulate(s, &options, at.into) == CAPSIM_OK);
  MUST(capsim_batch(both, two, NULL, 2, NULL, NULL, NULL) == CAPSIM_BAD_ARGUMENT); /* one history twice */
  two[1] = capsim_history_create();
  MUST(capsim_batch(both, two, NULL, 2, NULL, run_twice, NULL) == CAPSIM_CALLBACK_FAILED);
  capsim_history_destroy(two[0]);
  capsim_history_destroy(two[1]);
  capsim_scenario_destroy(s);
}

/* A study whose executor calls back, destroys it, and does as it likes with the jobs. */
typedef struct {
  capsim_study* study;
  const capsim_scenario* eye;
  const capsim_population* crowd;
} study_at_work;
static int32_t meddle_with_study(size_t count, capsim_job job, void* batch, void* user) {
  study_at_work* at = user;
  capsim_study_destroy(at->study);
  MUST(capsim_study_compare(at->study, &at->eye, 1, at->crowd, NULL) == CAPSIM_BUSY);
  MUST(capsim_study_set_memory_limit(at->study, 1) == CAPSIM_BUSY);
  return run_twice(count, job, batch, user);
}

static void studies_that_are_none(void) {
  study_at_work at;
  const capsim_scenario* none = NULL;
  capsim_study_options options = CAPSIM_STUDY_OPTIONS;
  capsim_population* crowd = capsim_population_create();
  capsim_scenario* s = eye();
  size_t n = 0;
  at.study = capsim_study_create();
  at.eye = s;
  at.crowd = crowd;
  options.eyes = 1;
  options.executor = meddle_with_study;
  options.user = &at;
  MUST(capsim_population_find(crowd, "no such crowd") == CAPSIM_NOT_FOUND);
  MUST(capsim_population_read_json(crowd, "{", 1) < CAPSIM_OK);
  MUST(capsim_population_draw(crowd, s, UINT64_MAX, s) == CAPSIM_NOT_FOUND);
  MUST(capsim_study_compare(at.study, &at.eye, 1, crowd, &options) == CAPSIM_NOT_FOUND);
  MUST(capsim_population_find(crowd, capsim_population_name(0)) == CAPSIM_OK);
  MUST(capsim_population_draw(crowd, NULL, 0, s) == CAPSIM_BAD_ARGUMENT);
  (void)capsim_population_draw(crowd, s, UINT64_MAX, s); /* an eye or a refusal, but none that can't be run */
  MUST(capsim_scenario_check(s) == CAPSIM_OK);
  MUST(capsim_population_under(crowd, s, "no such law", s) == CAPSIM_NOT_FOUND);
  MUST(capsim_study_compare(NULL, &at.eye, 1, crowd, NULL) == CAPSIM_BAD_ARGUMENT);
  MUST(capsim_study_compare(at.study, NULL, 1, crowd, NULL) == CAPSIM_BAD_ARGUMENT);
  MUST(capsim_study_compare(at.study, &none, 1, crowd, NULL) == CAPSIM_BAD_ARGUMENT);
  MUST(capsim_study_visits(at.study, s, crowd, NULL, 1, 1, NULL) == CAPSIM_BAD_ARGUMENT);
  MUST(capsim_study_compare(at.study, &at.eye, 1, crowd, &options) == CAPSIM_CALLBACK_FAILED);
  MUST(capsim_study_json(at.study, NULL, 0, &n) == CAPSIM_NOT_FOUND);
  options.struct_size = 1;
  MUST(capsim_study_compare(at.study, &at.eye, 1, crowd, &options) == CAPSIM_BAD_ARGUMENT);
  capsim_study_destroy(at.study);
  capsim_population_destroy(crowd);
  capsim_scenario_destroy(s);
}

static void derivatives_of_nothing(void) {
  capsim_scenario* s = eye();
  capsim_sensitivities* d = capsim_sensitivities_create();
  const char* paths[2] = {"contraction.signal_days", NULL};
  double one = 0;
  size_t n = 0;
  MUST(capsim_sensitivities_of_outcome(d, "area_loss_percent", &one, 1, NULL) == CAPSIM_NOT_FOUND);
  MUST(capsim_sensitivities_run(d, s, paths, 2, NULL) == CAPSIM_BAD_ARGUMENT);
  MUST(capsim_sensitivities_run(d, s, NULL, 2, NULL) == CAPSIM_BAD_ARGUMENT);
  MUST(capsim_sensitivities_run(d, s, paths, 1, NULL) == CAPSIM_OK);
  MUST(capsim_sensitivities_of_outcome(d, "area_loss_percent", &one, 0, NULL) == CAPSIM_BUFFER_TOO_SMALL);
  MUST(capsim_sensitivities_of_outcome(d, "area_loss_percent", &one, 1, &n) == CAPSIM_OK && n == 1);
  MUST(capsim_sensitivities_of_series(d, "opening_area_mm2", NULL, 0, &n) == CAPSIM_NOT_FOUND); /* not asked for */
  MUST(capsim_sensitivities_parameter(d, 1, NULL) == CAPSIM_NOT_FOUND);
  MUST(capsim_sensitivities_parameter(d, 0, NULL) == CAPSIM_BAD_ARGUMENT);
  capsim_sensitivities_destroy(d);
  capsim_scenario_destroy(s);
}

int main(void) {
  texts_that_are_none();
  buffers_that_are_too_small();
  structs_of_no_size();
  parts_that_break_their_contract();
  laws_that_break_their_contract();
  callbacks_that_meddle();
  studies_that_are_none();
  derivatives_of_nothing();
  if (failures == 0) printf("every wrong call was refused\n");
  return failures == 0 ? 0 : 1;
}
