/* SPDX-License-Identifier: BSD-3-Clause */
/*
 * A host in C99 with threads of its own: forks of one simulation that go on side by side, a batch and a study on an
 * executor, one scenario run by all, and a flag that one thread raises while another runs. Digits must be those of one
 * thread; under the thread sanitizer nothing may be read while it is written.
 */
#define _POSIX_C_SOURCE 200809L
#include <capsim.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>

enum { forks = 4, jobs = 6 };

static int failures = 0; /* written by the first thread alone */
#define MUST(condition) \
  ((condition) ? (void)0 : (void)(++failures, fprintf(stderr, "%s:%d: not so: %s\n", __FILE__, __LINE__, #condition)))

static capsim_scenario* eye(double days) {
  static const char text[] =
      "{\"format\": \"capsim-scenario\", \"version\": 1, \"output_every_days\": 1,"
      " \"mesh\": {\"around\": 24, \"radial\": 2, \"order\": 1}}";
  capsim_scenario* s = capsim_scenario_create();
  MUST(s && capsim_scenario_read_json(s, text, sizeof text - 1) == CAPSIM_OK);
  MUST(capsim_scenario_set_number(s, "duration_days", days) == CAPSIM_OK);
  return s;
}

/* Each job on a thread of its own. */
typedef struct {
  capsim_job job;
  void* batch;
  size_t index;
} one_job;
static void* do_job(void* data) {
  const one_job* one = data;
  one->job(one->batch, one->index);
  return NULL;
}
static int32_t on_threads(size_t count, capsim_job job, void* batch, void* user) {
  pthread_t threads[16];
  one_job all[16];
  size_t begun, k;
  (void)user;
  for (begun = 0; begun < count && begun < 16; ++begun) {
    all[begun].job = job;
    all[begun].batch = batch;
    all[begun].index = begun;
    if (pthread_create(&threads[begun], NULL, do_job, &all[begun]) != 0) break;
  }
  for (k = 0; k < begun; ++k) (void)pthread_join(threads[k], NULL);
  return begun == count ? 0 : 1;
}

/* A fork that goes on to the last day on its own thread, and tells its own log. */
typedef struct {
  capsim_simulation* run;
  capsim_status status;
  double area;
  int lines;
} future;
static void count_line(capsim_log_level level, const char* text, void* user) {
  (void)level, (void)text;
  ++((future*)user)->lines;
}
static void* go_on(void* data) {
  future* f = data;
  f->status = capsim_simulation_advance_to(f->run, 6, NULL);
  (void)capsim_simulation_opening_area_mm2(f->run, &f->area);
  return NULL;
}

static void forks_go_on_side_by_side(void) {
  capsim_scenario* s = eye(6);
  capsim_simulation* past = capsim_simulation_create();
  future all[forks], alone;
  pthread_t threads[forks];
  int k;
  MUST(capsim_simulation_start(past, s) == CAPSIM_OK);
  MUST(capsim_simulation_advance_to(past, 3, NULL) == CAPSIM_OK);
  memset(all, 0, sizeof all);
  memset(&alone, 0, sizeof alone);
  alone.run = capsim_simulation_fork(past);
  (void)go_on(&alone);
  for (k = 0; k < forks; ++k) {
    all[k].run = capsim_simulation_fork(past);
    MUST(capsim_simulation_set_log(all[k].run, count_line, &all[k]) == CAPSIM_OK);
    MUST(pthread_create(&threads[k], NULL, go_on, &all[k]) == 0);
  }
  MUST(capsim_simulation_advance_to(past, 6, NULL) == CAPSIM_OK); /* their past goes on beside them */
  for (k = 0; k < forks; ++k) {
    MUST(pthread_join(threads[k], NULL) == 0);
    MUST(all[k].status == CAPSIM_OK && all[k].area == alone.area && alone.area > 0);
    MUST(all[k].lines == 1);
    capsim_simulation_destroy(all[k].run);
  }
  capsim_simulation_destroy(alone.run);
  capsim_simulation_destroy(past);
  capsim_scenario_destroy(s);
}

static void batch_and_study_run_on_the_hosts_threads(void) {
  capsim_scenario* s = eye(3);
  const capsim_scenario* same[jobs];
  capsim_history* histories[jobs];
  capsim_history* alone = capsim_history_create();
  capsim_population* crowd = capsim_population_create();
  capsim_study* study = capsim_study_create();
  capsim_study_options options = CAPSIM_STUDY_OPTIONS;
  double wanted = 0, area = 0;
  size_t k, needed = 0, again = 0;
  MUST(capsim_simulate(s, NULL, alone) == CAPSIM_OK);
  MUST(capsim_history_value(alone, "opening_area_mm2", 3, 0, &wanted) == CAPSIM_OK);
  for (k = 0; k < jobs; ++k) {
    same[k] = s; /* one scenario, read by all */
    histories[k] = capsim_history_create();
  }
  MUST(capsim_batch(same, histories, NULL, jobs, NULL, on_threads, NULL) == CAPSIM_OK);
  for (k = 0; k < jobs; ++k) {
    MUST(capsim_history_value(histories[k], "opening_area_mm2", 3, 0, &area) == CAPSIM_OK && area == wanted);
    capsim_history_destroy(histories[k]);
  }
  MUST(capsim_population_find(crowd, capsim_population_name(0)) == CAPSIM_OK);
  options.eyes = 2;
  options.executor = on_threads;
  MUST(capsim_study_compare(study, same, 1, crowd, &options) == CAPSIM_OK);
  MUST(capsim_study_json(study, NULL, 0, &needed) == CAPSIM_OK);
  options.executor = NULL; /* the library's threads */
  options.workers = 2;
  MUST(capsim_study_compare(study, same, 1, crowd, &options) == CAPSIM_OK);
  MUST(capsim_study_json(study, NULL, 0, &again) == CAPSIM_OK && again == needed);
  capsim_study_destroy(study);
  capsim_population_destroy(crowd);
  capsim_history_destroy(alone);
  capsim_scenario_destroy(s);
}

/* Says that runs are under way; then another thread raises the flag, which they are to see by themselves. */
enum { steps_alone = 20 }; /* so many together they take without the flag; then they wait until it is up */
typedef struct {
  pthread_mutex_t mutex;
  pthread_cond_t changed;
  int steps, raised;
  capsim_cancel_flag* flag;
} meeting;
static int32_t tell(const capsim_progress* now, void* user) {
  meeting* m = user;
  (void)now;
  (void)pthread_mutex_lock(&m->mutex);
  ++m->steps;
  (void)pthread_cond_broadcast(&m->changed);
  while (m->steps > steps_alone && !m->raised) (void)pthread_cond_wait(&m->changed, &m->mutex);
  (void)pthread_mutex_unlock(&m->mutex);
  return CAPSIM_CONTINUE;
}
static void* raise_flag(void* data) {
  meeting* m = data;
  (void)pthread_mutex_lock(&m->mutex);
  while (m->steps == 0) (void)pthread_cond_wait(&m->changed, &m->mutex);
  (void)pthread_mutex_unlock(&m->mutex);
  capsim_cancel_flag_raise(m->flag); /* beside runs that read it */
  (void)pthread_mutex_lock(&m->mutex);
  m->raised = 1;
  (void)pthread_cond_broadcast(&m->changed);
  (void)pthread_mutex_unlock(&m->mutex);
  return NULL;
}

static void flag_of_another_thread_ends_a_batch(void) {
  /* Ten thousand rows: none comes to its end. */
  capsim_scenario* s = eye(3650);
  const capsim_scenario* same[2];
  capsim_history* histories[2];
  capsim_run_options options = CAPSIM_RUN_OPTIONS;
  capsim_status statuses[2] = {0, 0};
  meeting m;
  pthread_t other;
  int k;
  MUST(capsim_scenario_set_number(s, "output_every_days", 0.25) == CAPSIM_OK);
  (void)pthread_mutex_init(&m.mutex, NULL);
  (void)pthread_cond_init(&m.changed, NULL);
  m.steps = m.raised = 0;
  m.flag = capsim_cancel_flag_create();
  options.cancel = m.flag;
  options.progress = tell;
  options.user = &m;
  for (k = 0; k < 2; ++k) {
    same[k] = s;
    histories[k] = capsim_history_create();
  }
  MUST(pthread_create(&other, NULL, raise_flag, &m) == 0);
  MUST(capsim_batch(same, histories, statuses, 2, &options, on_threads, NULL) == CAPSIM_NOT_COMPLETED);
  MUST(pthread_join(other, NULL) == 0);
  for (k = 0; k < 2; ++k) {
    MUST(statuses[k] == CAPSIM_NOT_COMPLETED && capsim_history_end(histories[k]) == CAPSIM_END_CANCELLED);
    capsim_history_destroy(histories[k]);
  }
  capsim_cancel_flag_destroy(m.flag);
  (void)pthread_cond_destroy(&m.changed);
  (void)pthread_mutex_destroy(&m.mutex);
  capsim_scenario_destroy(s);
}

int main(void) {
  forks_go_on_side_by_side();
  batch_and_study_run_on_the_hosts_threads();
  flag_of_another_thread_ends_a_batch();
  if (failures == 0) printf("the digits of one thread\n");
  return failures == 0 ? 0 : 1;
}
