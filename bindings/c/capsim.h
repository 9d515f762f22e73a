/* SPDX-License-Identifier: BSD-3-Clause */
/**
 * @file  The C interface of libcapsim: contraction of the lens capsule opening, for programs in C
 *        and for every language that can call C. C99; C++ may include it too.
 *
 * FOR RESEARCH AND TEACHING ONLY, not for treating a patient. Decisions belong to the licensed
 * clinician and to local protocols. Show the cautions of a result wherever you show the result.
 *
 * In short.   capsim_scenario *s = capsim_scenario_create();
 *             capsim_scenario_set_number(s, "opening.diameter_mm", 5.0);
 *             capsim_history *h = capsim_history_create();
 *             if (capsim_simulate(s, NULL, h) != CAPSIM_OK) ...capsim_history_error(h, ...)...
 *             capsim_history_outcome_value(h, "area_loss_percent", &loss);
 *             capsim_history_destroy(h);
 *             capsim_scenario_destroy(s);
 *
 * Handles.    `capsim_scenario` is what goes in, `capsim_history` what comes out; in between, for a
 *             program that steps through time by itself, `capsim_simulation`. You create them, the
 *             library fills them, you destroy them. Destroying NULL does nothing. Besides there are
 *             `capsim_population`, a crowd of eyes, `capsim_study` and `capsim_sensitivities`, what follows
 *             from many runs or from one, and `capsim_cancel_flag`, which ends runs.
 * Ownership.  The library keeps no pointer that you pass in once the call has returned (but the
 *             `user` of a part or a law of your own, for as long as a simulation has it), and it
 *             returns no pointer into a handle: texts and numbers are copied into your memory.
 *             `const char *` return values are texts of the library itself; they never change.
 * Sizes.      Functions that copy take a buffer, its size, and where to write the size needed. With
 *             a NULL buffer and size 0 they only tell the size. With a buffer that is too small
 *             they copy nothing and return CAPSIM_BUFFER_TOO_SMALL. Sizes of texts are in bytes and
 *             include the NUL at the end; sizes of numbers are in numbers. The pointer to the size
 *             may be NULL when there is a buffer. All text is UTF-8.
 * Threads.    There is no shared state: different handles may be used by different threads at the
 *             same time. On one handle, functions that take it as `const` may run at the same time
 *             as one another; every other function needs the handle to itself. So one scenario may
 *             be simulated by several threads, each with a history of its own.
 *             No thread is started. HDF5, behind save and load, is not thread-safe in its usual
 *             build: capsim takes turns with itself, but if your program calls HDF5 too, keep the
 *             two apart yourself.
 * Errors.     Every function that can fail returns a capsim_status. Functions that take a handle
 *             without `const` also leave a text in it, and when input is wrong all the violated
 *             constraints, each readable on its own. The text stays until the next such call.
 *             No C++ exception leaves the library. Nothing is printed. Locale, signal handlers, floating-point
 *             environment, threads and HDF5's error handler stay. A run that succeeds hits no floating-point trap.
 * Versions.   Structs start with `struct_size`: set it to sizeof of the struct as your header has
 *             it. A library that is newer or older than your header then fills what both know.
 *             Names and values here are only added to while CAPSIM_C_API stays the same.
 */
#ifndef CAPSIM_H
#define CAPSIM_H

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#if defined(CAPSIM_C_STATIC) /* set by the CMake target capsim::capsim_c_static */
#define CAPSIM_FUNCTION
#elif defined(_WIN32) && defined(CAPSIM_C_BUILDING)
#define CAPSIM_FUNCTION __declspec(dllexport)
#elif defined(_WIN32)
#define CAPSIM_FUNCTION __declspec(dllimport)
#elif defined(__GNUC__)
#define CAPSIM_FUNCTION __attribute__((visibility("default")))
#else
#define CAPSIM_FUNCTION
#endif

/** Number of this interface; raised only when something in it is taken away or changes meaning. */
#define CAPSIM_C_API 1

/** CAPSIM_C_API of the library that is linked: compare it with the macro after loading at run time. */
CAPSIM_FUNCTION int32_t capsim_c_api(void);
/** Version of this header, in parts and as one number: 10000 major + 100 minor + patch. */
/* from the library's list: version */
#define CAPSIM_VERSION_MAJOR 0
#define CAPSIM_VERSION_MINOR 1
#define CAPSIM_VERSION_PATCH 0
#define CAPSIM_VERSION_NUMBER 100
/* end of the list: version */
/** The same number of the library that is linked. */
CAPSIM_FUNCTION int32_t capsim_version_number(void);
/** "major.minor.patch" of the library that is linked. */
CAPSIM_FUNCTION const char* capsim_version(void);
/** 1 when results can be saved and loaded, 0 when the library was built without HDF5. */
CAPSIM_FUNCTION int32_t capsim_has_results_file(void);
/** The caution to show with every result. */
CAPSIM_FUNCTION const char* capsim_research_caution(void);
/** The cautions to show next to relaxing cuts. */
CAPSIM_FUNCTION const char* capsim_relaxing_cut_caution(void);

/* ---------------------------------------------------------------------------------- status -- */

/** What a call came to: 0 as asked; above 0 done, but look; below 0 not done. */
typedef int32_t capsim_status;
enum {
  CAPSIM_OK = 0,
  CAPSIM_NOT_COMPLETED = 1,     /**< There is a history, but it ends before the last day: see capsim_history_end. */
  CAPSIM_BAD_ARGUMENT = -1,     /**< A NULL or NaN that must not be, a struct_size that can't be. */
  CAPSIM_NOT_FOUND = -2,        /**< No series, outcome, row, event ... of that name or number. */
  CAPSIM_BUFFER_TOO_SMALL = -3, /**< Nothing was copied; the size needed was written. */
  CAPSIM_UNKNOWN_FIELD = -4,    /**< The scenario has no field of that path. */
  CAPSIM_WRONG_TYPE = -5,       /**< The field does not hold that kind of value. */
  CAPSIM_IS_NULL = -6,          /**< The field, or the section around it, is null. */
  CAPSIM_INVALID_SCENARIO = -7, /**< See the violations. */
  CAPSIM_FILE_ERROR = -8,       /**< A file that can't be written or read; the text says why. */
  CAPSIM_NOT_BUILT = -9,        /**< The library was built without this (HDF5). */
  CAPSIM_CALLBACK_FAILED = -10, /**< Your callback threw a C++ exception, or your executor left jobs undone. */
  CAPSIM_OUT_OF_MEMORY = -11,
  CAPSIM_INTERNAL_ERROR = -12, /**< A broken invariant of the library: please report it. */
  CAPSIM_NO_REST_STATE = -13,  /**< A right scenario, but no shape at rest was found for this eye. */
  CAPSIM_NOT_STARTED = -14,    /**< The simulation has not been started. */
  CAPSIM_BAD_CHECKPOINT = -15, /**< The bytes are none, or of another scenario or version. */
  CAPSIM_BAD_GUEST = -16,      /**< Your part or law broke its contract; the text names it and says how. */
  CAPSIM_BUSY = -17            /**< The handle is at work: a callback called back into it. */
};

/** "CAPSIM_OK", ...; "unknown status" for a number that is none. */
CAPSIM_FUNCTION const char* capsim_status_name(capsim_status status);
/** One sentence about the status. */
CAPSIM_FUNCTION const char* capsim_status_text(capsim_status status);

/** The parts of one violated constraint. */
typedef int32_t capsim_violation_part;
enum {
  CAPSIM_VIOLATION_PATH = 0,  /**< `events[0].relaxing_cuts.length_mm` */
  CAPSIM_VIOLATION_VALUE = 1, /**< What was given; empty when a value is missing. */
  CAPSIM_VIOLATION_LIMIT = 2, /**< `>= 0.05 and <= 8` */
  CAPSIM_VIOLATION_HINT = 3,  /**< What to do about it, or empty. */
  CAPSIM_VIOLATION_LINE = 4   /**< All of it in one line. */
};

/* -------------------------------------------------------------------------------- scenario -- */

/** One eye, one operation, one follow-up. Paths and units are those of its JSON text. */
typedef struct capsim_scenario capsim_scenario;

/** A scenario with all defaults; NULL when there is no memory. */
CAPSIM_FUNCTION capsim_scenario* capsim_scenario_create(void);
/** An equal scenario of its own; NULL when there is no memory or `scenario` is NULL. */
CAPSIM_FUNCTION capsim_scenario* capsim_scenario_copy(const capsim_scenario* scenario);
CAPSIM_FUNCTION void capsim_scenario_destroy(capsim_scenario* scenario);

/** Replaces everything by what the JSON text says. Wrong text leaves the scenario as it was. */
CAPSIM_FUNCTION capsim_status capsim_scenario_read_json(capsim_scenario* scenario, const char* text, size_t length);
/** The same from a file. */
CAPSIM_FUNCTION capsim_status capsim_scenario_read_file(capsim_scenario* scenario, const char* path);
/** Complete JSON text, every field written; `indent` spaces, or -1 for a single line. */
CAPSIM_FUNCTION capsim_status capsim_scenario_write_json(const capsim_scenario* scenario, int32_t indent, char* text,
                                                         size_t size, size_t* needed);

/*
 * Fields by path, `opening.diameter_mm`. Values by clock hour have the hour as the last word,
 * `zonule.strength_by_hour.4`; items of lists have brackets, `events[0].relaxing_cuts.hours[1]`.
 * Setting a field of a section that is null (lens, tension_ring) brings the section with its
 * defaults. Setters refuse unknown paths and wrong kinds of values at once; whether a number lies
 * within its limits and fits the others is judged by capsim_scenario_check, all together.
 */
CAPSIM_FUNCTION capsim_status capsim_scenario_set_number(capsim_scenario* scenario, const char* path, double value);
CAPSIM_FUNCTION capsim_status capsim_scenario_set_integer(capsim_scenario* scenario, const char* path, int64_t value);
/** A name, or one of the words of a choice: "fung", "right". */
CAPSIM_FUNCTION capsim_status capsim_scenario_set_text(capsim_scenario* scenario, const char* path, const char* value);
/** All numbers of a list. Points as x0 y0 x1 y1 ..., thickness knots as ratio0 um0 ratio1 um1 ... */
CAPSIM_FUNCTION capsim_status capsim_scenario_set_numbers(capsim_scenario* scenario, const char* path,
                                                          const double* values, size_t count);
/** Makes a field null that may be: `lens`, `tension_ring`, `eye`, `contraction.band_width_mm` ... */
CAPSIM_FUNCTION capsim_status capsim_scenario_set_null(capsim_scenario* scenario, const char* path);
/** Puts a field or a whole section back to its default; empties lists; removes a value by hour. */
CAPSIM_FUNCTION capsim_status capsim_scenario_set_default(capsim_scenario* scenario, const char* path);
/** Makes a section that may be null present, with its defaults when it was not: `tension_ring`. */
CAPSIM_FUNCTION capsim_status capsim_scenario_set_present(capsim_scenario* scenario, const char* path);

CAPSIM_FUNCTION capsim_status capsim_scenario_get_number(const capsim_scenario* scenario, const char* path,
                                                         double* value);
CAPSIM_FUNCTION capsim_status capsim_scenario_get_integer(const capsim_scenario* scenario, const char* path,
                                                          int64_t* value);
CAPSIM_FUNCTION capsim_status capsim_scenario_get_text(const capsim_scenario* scenario, const char* path, char* text,
                                                       size_t size, size_t* needed);
/** The numbers of a list; an hour that is not listed is CAPSIM_NOT_FOUND for get_number. */
CAPSIM_FUNCTION capsim_status capsim_scenario_get_numbers(const capsim_scenario* scenario, const char* path,
                                                          double* values, size_t size, size_t* needed);

/** Events, in the order in which they were added. Their fields: `events[0].day`, ... */
CAPSIM_FUNCTION size_t capsim_scenario_event_count(const capsim_scenario* scenario);
/** Radial cuts of the rim at clock hours (decimals allowed), `length_mm` long. */
CAPSIM_FUNCTION capsim_status capsim_scenario_add_relaxing_cuts(capsim_scenario* scenario, double day,
                                                                const double* hours, size_t count, double length_mm);
/** From that day the listed whole hours have these strengths, 0 absent to 1 healthy. */
CAPSIM_FUNCTION capsim_status capsim_scenario_add_zonule_damage(capsim_scenario* scenario, double day,
                                                                const int32_t* hours, const double* strengths,
                                                                size_t count);
/** A ring with all defaults is put in; set what differs: `events[0].tension_ring.gap_hour`. */
CAPSIM_FUNCTION capsim_status capsim_scenario_add_tension_ring(capsim_scenario* scenario, double day);
CAPSIM_FUNCTION capsim_status capsim_scenario_remove_event(capsim_scenario* scenario, size_t index);

/** The scenario seen in a mirror: hour -> 12 - hour, x -> -x, right eye <-> left eye. */
CAPSIM_FUNCTION capsim_status capsim_scenario_mirror(capsim_scenario* scenario);
/** The scenario turned clockwise by whole clock hours. */
CAPSIM_FUNCTION capsim_status capsim_scenario_rotate(capsim_scenario* scenario, int32_t hours);

/** CAPSIM_OK when the scenario can be run, else CAPSIM_INVALID_SCENARIO with every violation. */
CAPSIM_FUNCTION capsim_status capsim_scenario_check(capsim_scenario* scenario);
/** Why the last call that could fail did; an empty text when it did not. */
CAPSIM_FUNCTION capsim_status capsim_scenario_error(const capsim_scenario* scenario, char* text, size_t size,
                                                    size_t* needed);
/** Violations found by the last call that could fail. */
CAPSIM_FUNCTION size_t capsim_scenario_violation_count(const capsim_scenario* scenario);
CAPSIM_FUNCTION capsim_status capsim_scenario_violation(const capsim_scenario* scenario, size_t index,
                                                        capsim_violation_part part, char* text, size_t size,
                                                        size_t* needed);

/* ------------------------------------------------------------------- what a scenario may say -- */

/** Which functions set and get a field. */
typedef int32_t capsim_field_kind;
enum {
  CAPSIM_FIELD_NUMBER = 0,  /**< set_number */
  CAPSIM_FIELD_INTEGER = 1, /**< set_integer */
  CAPSIM_FIELD_TEXT = 2,    /**< set_text, anything */
  CAPSIM_FIELD_CHOICE = 3,  /**< set_text, one of the choices */
  CAPSIM_FIELD_NUMBERS = 4, /**< set_numbers */
  CAPSIM_FIELD_POINT = 5,   /**< set_numbers, x y */
  CAPSIM_FIELD_POINTS = 6,  /**< set_numbers, x0 y0 x1 y1 ... */
  CAPSIM_FIELD_KNOTS = 7,   /**< set_numbers, ratio0 um0 ratio1 um1 ... */
  CAPSIM_FIELD_BY_HOUR = 8, /**< set_number with the hour at the end of the path */
  CAPSIM_FIELD_SECTION = 9  /**< A section that may be null: set_present, set_null */
};

/** One field, for a form or a command line that shall not know them all by heart. */
typedef struct capsim_field {
  size_t struct_size;
  const char* path; /**< `lens.haptics`; an event's fields start with `events[]`. */
  const char* unit; /**< "mm", "kPa", "clock hour"; "1" for shares and ratios; "" where there is none. */
  capsim_field_kind kind;
  int32_t may_be_null;
  int32_t has_limits;     /**< 0: `low` to `may_be_zero` say nothing. */
  int32_t low_is_outside; /**< 1: must be above `low`; 0: may equal it. `high` always may be met. */
  int32_t may_be_zero;    /**< 1: zero is allowed although outside the limits. */
  int32_t has_default;    /**< 1: `default_value` is the default; 0: it is null, or not a single number. */
  double low;             /**< Of each number. */
  double high;
  double default_value;
} capsim_field;

/** Number of fields of a scenario, events included. */
CAPSIM_FUNCTION size_t capsim_field_count(void);
CAPSIM_FUNCTION capsim_status capsim_field_at(size_t index, capsim_field* field);
/** Word `choice` (from 0) of field `index`; NULL when there is none. */
CAPSIM_FUNCTION const char* capsim_field_choice(size_t index, size_t choice);
/** The JSON Schema of a scenario's text. */
CAPSIM_FUNCTION capsim_status capsim_scenario_schema(char* text, size_t size, size_t* needed);

/* ----------------------------------------------------------------------------------- running -- */

/** What the progress callback is told. */
typedef struct capsim_progress {
  size_t struct_size;
  double day;
  double duration_days;
  double opening_area_mm2;
} capsim_progress;

enum { CAPSIM_CONTINUE = 0, CAPSIM_CANCEL = 1 };

/** How much a line of the log matters. */
typedef int32_t capsim_log_level;
enum {
  CAPSIM_LOG_INFO = 0,    /**< What is done: a run begins, a run has come to its last day. */
  CAPSIM_LOG_WARNING = 1, /**< Done, but look: a run has ended before its last day. */
  CAPSIM_LOG_ERROR = 2    /**< Not done: wrong input, a guest at fault, no memory. */
};
/** Called with one line of UTF-8 text, without a line end, from the thread that called; it must not leave by longjmp.
 */
typedef void (*capsim_log_callback)(capsim_log_level level, const char* text, void* user);

/**
 * Called after every time step, and now and then inside a long one and while the model is built, from the thread that
 * called capsim_simulate, with your pointer.
 * Return CAPSIM_CONTINUE, or anything else to cancel. It may use other handles, but must not leave
 * by longjmp. The struct is yours to read until you return.
 */
typedef int32_t (*capsim_progress_callback)(const capsim_progress* progress, void* user);

/** A flag that ends runs, from any thread: raise it, and every run that looks at it stops, inside a long step too. */
typedef struct capsim_cancel_flag capsim_cancel_flag;
/** Not raised; NULL when there is no memory. It has to outlive the calls that look at it. */
CAPSIM_FUNCTION capsim_cancel_flag* capsim_cancel_flag_create(void);
CAPSIM_FUNCTION void capsim_cancel_flag_destroy(capsim_cancel_flag* flag);
/** Any thread, any time; also a signal handler, for it takes no lock and no memory. */
CAPSIM_FUNCTION void capsim_cancel_flag_raise(capsim_cancel_flag* flag);
CAPSIM_FUNCTION void capsim_cancel_flag_lower(capsim_cancel_flag* flag);
CAPSIM_FUNCTION int32_t capsim_cancel_flag_is_raised(const capsim_cancel_flag* flag);

/** How to run; zero and NULL mean the default. Start from CAPSIM_RUN_OPTIONS. */
typedef struct capsim_run_options {
  size_t struct_size;
  capsim_progress_callback progress;
  void* user; /**< Handed to `progress`. */
  const capsim_cancel_flag* cancel;
  double deadline_seconds; /**< Of this call, by a clock that is never set back; looked at as `cancel`. 0: none. */
} capsim_run_options;
/* clang-format off */
#define CAPSIM_RUN_OPTIONS {sizeof(capsim_run_options), NULL, NULL, NULL, 0}
/* clang-format on */

/** What a simulation leaves behind: values [row, column], outcomes, flags, cautions. */
typedef struct capsim_history capsim_history;

/** An empty history; NULL when there is no memory. It may be filled any number of times. */
CAPSIM_FUNCTION capsim_history* capsim_history_create(void);
CAPSIM_FUNCTION void capsim_history_destroy(capsim_history* history);

/**
 * Runs the scenario and replaces what `history` held. `options` may be NULL.
 * CAPSIM_OK: to the last day. CAPSIM_NOT_COMPLETED: cancelled, or ended early for a numerical
 * reason; the days before are there. Below 0: `history` is empty but for its error text and violations.
 */
CAPSIM_FUNCTION capsim_status capsim_simulate(const capsim_scenario* scenario, const capsim_run_options* options,
                                              capsim_history* history);

/** Runs job `index` of a batch; to be called once for each index, from any thread. */
typedef void (*capsim_job)(void* batch, size_t index);
/**
 * Your way of running many jobs: calls job(batch, i) once for each i below `count`, on as many threads as you like, and
 * returns when all of them are done; 0 when that went well.
 */
typedef int32_t (*capsim_executor)(size_t count, capsim_job job, void* batch, void* user);
/**
 * Runs `count` scenarios, the k-th into histories[k]; `executor` NULL: one after another in this thread. `options` may
 * be NULL; its callback and flag are used by all runs, from the threads that run them. `statuses` may be NULL, else the
 * k-th is what capsim_simulate would have returned. The result is the worst of them: below 0, else
 * CAPSIM_NOT_COMPLETED, else CAPSIM_OK. Results do not depend on the executor. One that leaves a job out, runs it twice
 * or reports failure: CAPSIM_CALLBACK_FAILED, and the histories that were not run say so in their error.
 */
CAPSIM_FUNCTION capsim_status capsim_batch(const capsim_scenario* const* scenarios, capsim_history* const* histories,
                                           capsim_status* statuses, size_t count, const capsim_run_options* options,
                                           capsim_executor executor, void* user);

/** From now on, runs into this history tell what they do; NULL: no longer. Without it nothing is told anywhere. */
CAPSIM_FUNCTION capsim_status capsim_history_set_log(capsim_history* history, capsim_log_callback log, void* user);
/**
 * From now on, a run into this history that would hold more than so many bytes is refused before its model is built
 * (CAPSIM_OUT_OF_MEMORY), by an estimate that is right within a factor of two. 0: no limit.
 */
CAPSIM_FUNCTION capsim_status capsim_history_set_memory_limit(capsim_history* history, size_t bytes);

/** Why the last call that could fail did; an empty text when it did not. */
CAPSIM_FUNCTION capsim_status capsim_history_error(const capsim_history* history, char* text, size_t size,
                                                   size_t* needed);
CAPSIM_FUNCTION size_t capsim_history_violation_count(const capsim_history* history);
CAPSIM_FUNCTION capsim_status capsim_history_violation(const capsim_history* history, size_t index,
                                                       capsim_violation_part part, char* text, size_t size,
                                                       size_t* needed);

/* ----------------------------------------------------------------------------------- history -- */

/** How a simulation ended. */
typedef int32_t capsim_end;
enum {
  /* clang-format off */
  /* from the library's list: ends of a run */
  CAPSIM_END_COMPLETED = 0, /**< The run reached its last day. */
  CAPSIM_END_CANCELLED = 1, /**< The caller asked it to stop. */
  CAPSIM_END_NO_EQUILIBRIUM = 2, /**< No shape at rest was found. */
  CAPSIM_END_FOLDED_ELEMENT = 3, /**< An element of the leaf would have folded over. */
  CAPSIM_END_TOO_MANY_STEPS = 4, /**< The limit on time steps was reached. */
  CAPSIM_END_NON_FINITE = 5, /**< A number became infinite or undefined. */
  CAPSIM_END_TOO_MUCH_WORK = 6, /**< The budget of work was spent. */
  CAPSIM_END_STEP_TOO_SMALL = 7, /**< The time step shrank away. */
  /* end of the list: ends of a run */
  /* clang-format on */
  CAPSIM_END_NONE = -1 /**< The handle holds no history. */
};

CAPSIM_FUNCTION capsim_end capsim_history_end(const capsim_history* history);
/** "completed", "no_equilibrium", ...; "none". */
CAPSIM_FUNCTION const char* capsim_end_name(capsim_end end);
/** One sentence: why the run ended, with the criterion that failed and where. */
CAPSIM_FUNCTION capsim_status capsim_history_message(const capsim_history* history, char* text, size_t size,
                                                     size_t* needed);
/** Version of capsim that computed it. */
CAPSIM_FUNCTION capsim_status capsim_history_version(const capsim_history* history, char* text, size_t size,
                                                     size_t* needed);
/** Copies the scenario that was run into `scenario`. */
CAPSIM_FUNCTION capsim_status capsim_history_scenario(const capsim_history* history, capsim_scenario* scenario);

/** Rows: first day, every output day, two for each day with events (before, after), last day. */
CAPSIM_FUNCTION size_t capsim_history_rows(const capsim_history* history);
/** The first row at or after `day`, on an event day its `after` side; the last row beyond the end. */
CAPSIM_FUNCTION capsim_status capsim_history_row_at(const capsim_history* history, double day, size_t* row);

/** Quantities over all rows; `day` and `event_side` (-1 before, 1 after an event) come first. */
CAPSIM_FUNCTION size_t capsim_history_series_count(const capsim_history* history);
CAPSIM_FUNCTION capsim_status capsim_history_series_name(const capsim_history* history, size_t index, char* text,
                                                         size_t size, size_t* needed);
CAPSIM_FUNCTION capsim_status capsim_history_series_unit(const capsim_history* history, const char* name, char* text,
                                                         size_t size, size_t* needed);
CAPSIM_FUNCTION capsim_status capsim_history_series_description(const capsim_history* history, const char* name,
                                                                char* text, size_t size, size_t* needed);
/** Values per row: 1, 2 for points (x, y), 12 for clock hours (12, 1, 2 ... 11), ... */
CAPSIM_FUNCTION capsim_status capsim_history_columns(const capsim_history* history, const char* name, size_t* columns);
/** All values of the series, row after row: rows x columns numbers. */
CAPSIM_FUNCTION capsim_status capsim_history_values(const capsim_history* history, const char* name, double* values,
                                                    size_t size, size_t* needed);
CAPSIM_FUNCTION capsim_status capsim_history_value(const capsim_history* history, const char* name, size_t row,
                                                   size_t column, double* value);
/** Rim polygon of a row [mm], x0 y0 x1 y1 ..., counter-clockwise, along the lips of open cuts. */
CAPSIM_FUNCTION capsim_status capsim_history_outline_mm(const capsim_history* history, size_t row, double* xy,
                                                        size_t size, size_t* needed);

/** One relaxing cut that was made. */
typedef struct capsim_cut {
  size_t struct_size;
  double hour;
  double length_mm;        /**< As asked: along the leaf at the end of surgery. */
  double length_on_day_mm; /**< Along the leaf as it lay just before the cut. */
  double day;
} capsim_cut;

CAPSIM_FUNCTION size_t capsim_history_cut_count(const capsim_history* history);
CAPSIM_FUNCTION capsim_status capsim_history_cut(const capsim_history* history, size_t index, capsim_cut* cut);

/** How the run went. */
typedef struct capsim_diagnostics {
  size_t struct_size;
  /* clang-format off */
  /* from the library's list: diagnostics */
  int64_t steps; /**< Accepted time steps. */
  int64_t rejected_steps; /**< Time steps that were tried and repeated with a shorter one. */
  int64_t right_hand_sides; /**< Evaluations of the contraction law. */
  int64_t equilibria; /**< Equilibria that were solved. */
  int64_t newton_iterations; /**< Newton iterations of all equilibria. */
  int64_t max_newton_iterations; /**< Most Newton iterations in one equilibrium of a time step (not at day 0 or an event). */
  int64_t factorizations; /**< Factorizations of the stiffness matrix. */
  double residual_mN; /**< Largest unbalanced nodal force at the last equilibrium. */
  double tolerance_mN; /**< What the unbalanced force has to fall below. */
  double worst_element_hour; /**< Clock hour of the most distorted element. */
  double worst_element_ratio; /**< Smallest area ratio of an element, deformed over reference. */
  double last_good_day; /**< Last day whose equilibrium was found. */
  double wall_seconds; /**< Time taken by model, day 0 and all steps. */
  int64_t projected_factorizations; /**< Factorizations with the positive-definite fallback. */
  double seconds_elements; /**< Time taken by energies, gradients and Hessians of the parts. */
  double seconds_factor; /**< Time taken by factorizations. */
  double seconds_solve; /**< Time taken by solves with a factor. */
  double work; /**< What the unloaded shape and all equilibria took, in factorizations; an evaluation of all forces counts an eighth. */
  double least_pivot_mN_per_mm; /**< Least pivot of the exact stiffness at the last equilibrium that was looked at; 0: none was. */
  int64_t saddles_left; /**< Times that balanced forces were a saddle, which was left downhill. */
  double outline_off_mm; /**< Largest distance of the rim from the stated outline where it can't lie there and only its area is as stated; 0: it does. */
  /* end of the list: diagnostics */
  /* clang-format on */
} capsim_diagnostics;

CAPSIM_FUNCTION capsim_status capsim_history_diagnostics(const capsim_history* history,
                                                         capsim_diagnostics* diagnostics);

/** The same by name, for a table of all there are: those of `capsim_diagnostics` and later ones. */
CAPSIM_FUNCTION size_t capsim_diagnostic_count(void);
/** Name, unit or sentence of number `index`; NULL when there is none. */
CAPSIM_FUNCTION const char* capsim_diagnostic_name(size_t index);
CAPSIM_FUNCTION const char* capsim_diagnostic_unit(size_t index);
CAPSIM_FUNCTION const char* capsim_diagnostic_description(size_t index);
CAPSIM_FUNCTION capsim_status capsim_history_diagnostic(const capsim_history* history, const char* name, double* value);

/* ---------------------------------------------------------------------------------- outcomes -- */

/** Named scalars: `area_loss_percent`, `zonule_load_max_mN`, ... */
CAPSIM_FUNCTION size_t capsim_history_outcome_count(const capsim_history* history);
CAPSIM_FUNCTION capsim_status capsim_history_outcome_name(const capsim_history* history, size_t index, char* text,
                                                          size_t size, size_t* needed);
CAPSIM_FUNCTION capsim_status capsim_history_outcome_unit(const capsim_history* history, const char* name, char* text,
                                                          size_t size, size_t* needed);
CAPSIM_FUNCTION capsim_status capsim_history_outcome_description(const capsim_history* history, const char* name,
                                                                 char* text, size_t size, size_t* needed);
CAPSIM_FUNCTION capsim_status capsim_history_outcome_value(const capsim_history* history, const char* name,
                                                           double* value);

/** What the reader must know about this run: a stable short code, and one or two sentences. */
CAPSIM_FUNCTION size_t capsim_history_flag_count(const capsim_history* history);
CAPSIM_FUNCTION capsim_status capsim_history_flag_code(const capsim_history* history, size_t index, char* text,
                                                       size_t size, size_t* needed);
CAPSIM_FUNCTION capsim_status capsim_history_flag_text(const capsim_history* history, size_t index, char* text,
                                                       size_t size, size_t* needed);

/** To be shown wherever the result is shown. */
CAPSIM_FUNCTION size_t capsim_history_caution_count(const capsim_history* history);
CAPSIM_FUNCTION capsim_status capsim_history_caution(const capsim_history* history, size_t index, char* text,
                                                     size_t size, size_t* needed);

/* ---------------------------------------------------------------------------- step by step -- */

/**
 * One eye on its way through time: advance it, act on it, fork it to compare two futures, roll it
 * back. The scenario's own events happen on their day. Cuts and a ring that may come later have to
 * be foreseen before the start: the mesh has lines for them.
 */
typedef struct capsim_simulation capsim_simulation;

/** A simulation that has not been started; NULL when there is no memory. */
CAPSIM_FUNCTION capsim_simulation* capsim_simulation_create(void);
CAPSIM_FUNCTION void capsim_simulation_destroy(capsim_simulation* simulation);
/** An independent copy in the same state; it shares the unchanging model. NULL when there is no memory. */
CAPSIM_FUNCTION capsim_simulation* capsim_simulation_fork(const capsim_simulation* simulation);

/** From now on, this simulation tells what it does; NULL: no longer. A fork tells nothing until it is given its own. */
CAPSIM_FUNCTION capsim_status capsim_simulation_set_log(capsim_simulation* simulation, capsim_log_callback log,
                                                        void* user);
/** As capsim_history_set_memory_limit, for the starts and restores that follow; a fork has the same limit. */
CAPSIM_FUNCTION capsim_status capsim_simulation_set_memory_limit(capsim_simulation* simulation, size_t bytes);

/**
 * From now on, calls that have no options of their own (starts, restores, actions) look at these; NULL: at none. They
 * are copied, what they point to has to outlive their use; a deadline is of each call. CAPSIM_NOT_COMPLETED of a start
 * or restore that was ended while the model was built: the simulation has not been started, or is as it was. Of any
 * other: a further call goes on. A fork looks at none.
 */
CAPSIM_FUNCTION capsim_status capsim_simulation_set_watch(capsim_simulation* simulation,
                                                          const capsim_run_options* watch);

/** Before the start: cuts that may be made later at these hours, of this length. */
CAPSIM_FUNCTION capsim_status capsim_simulation_foresee_cuts(capsim_simulation* simulation, const double* hours,
                                                             size_t count, double length_mm);
/** Before the start: a tension ring may be put in later. */
CAPSIM_FUNCTION capsim_status capsim_simulation_foresee_ring(capsim_simulation* simulation);
/** Builds the model and puts the eye to rest at the end of surgery, day 0. May be called again. */
CAPSIM_FUNCTION capsim_status capsim_simulation_start(capsim_simulation* simulation, const capsim_scenario* scenario);

/**
 * Advances to `day`, at most the scenario's last; an earlier day does nothing. `options` may be NULL.
 * CAPSIM_NOT_COMPLETED: the callback cancelled, and a further call goes on; or the run has ended
 * for a numerical reason, and nothing more can be done with it; capsim_simulation_last_advance says which.
 */
CAPSIM_FUNCTION capsim_status capsim_simulation_advance_to(capsim_simulation* simulation, double day,
                                                           const capsim_run_options* options);
/** How an advance came out. */
typedef int32_t capsim_advance;
enum {
  CAPSIM_ADVANCE_REACHED = 0,   /**< The day asked for, or the scenario's last. */
  CAPSIM_ADVANCE_CANCELLED = 1, /**< The callback, the flag or the deadline said no. A further call goes on. */
  CAPSIM_ADVANCE_ENDED = 2,     /**< For a numerical reason: nothing more can be done. */
  CAPSIM_ADVANCE_NONE = -1      /**< Not started, not advanced since the start, or the call failed. */
};
/** How the last capsim_simulation_advance_to came out. */
CAPSIM_FUNCTION capsim_advance capsim_simulation_last_advance(const capsim_simulation* simulation);
/** "reached", "cancelled", "ended"; "none". */
CAPSIM_FUNCTION const char* capsim_advance_name(capsim_advance how);

/** Acts today. What was not foreseen is CAPSIM_INVALID_SCENARIO and leaves the eye as it was. */
CAPSIM_FUNCTION capsim_status capsim_simulation_cut(capsim_simulation* simulation, const double* hours, size_t count,
                                                    double length_mm);
CAPSIM_FUNCTION capsim_status capsim_simulation_damage_zonule(capsim_simulation* simulation, const int32_t* hours,
                                                              const double* strengths, size_t count);
/** The ring is the section `tension_ring` of `ring`; NULL, or a section that is null: a default ring. */
CAPSIM_FUNCTION capsim_status capsim_simulation_insert_ring(capsim_simulation* simulation, const capsim_scenario* ring);

/**
 * The action of event `index` of `from`, whatever it is, done today; its day says nothing. With the text of a scenario
 * that has one event every action is there, `contraction_change` too.
 */
CAPSIM_FUNCTION capsim_status capsim_simulation_apply_event(capsim_simulation* simulation, const capsim_scenario* from,
                                                            size_t index);

/** Day reached [days]; 0 when not started. */
CAPSIM_FUNCTION double capsim_simulation_day(const capsim_simulation* simulation);
CAPSIM_FUNCTION capsim_status capsim_simulation_opening_area_mm2(const capsim_simulation* simulation, double* area);
/** CAPSIM_END_COMPLETED as long as nothing went wrong; CAPSIM_END_NONE when not started. */
CAPSIM_FUNCTION capsim_end capsim_simulation_end(const capsim_simulation* simulation);
/** Copies everything recorded so far into `history`, with its outcomes. */
CAPSIM_FUNCTION capsim_status capsim_simulation_history(const capsim_simulation* simulation, capsim_history* history);
/** Memory held by this simulation, without the shared model [bytes]. */
CAPSIM_FUNCTION size_t capsim_simulation_memory_bytes(const capsim_simulation* simulation);

/** How a path towards runaway ended; see capsim_simulation_runaway_margin. */
typedef int32_t capsim_runaway_end;
enum {
  CAPSIM_RUNAWAY_TIPS = 0,   /**< At the factor the opening runs away. */
  CAPSIM_RUNAWAY_CLOSES = 1, /**< At the factor it has lost nine tenths of its first area, without a tipping point. */
  CAPSIM_RUNAWAY_HOLDS = 2,  /**< Neither, up to the factor. */
  CAPSIM_RUNAWAY_NOT_FOLLOWED = 3, /**< Beyond the factor no equilibrium was found. */
  CAPSIM_RUNAWAY_NOTHING_PULLS = 4 /**< No tissue pulls: there is no factor. */
};
/** "tips", "closes", ...; "unknown". */
CAPSIM_FUNCTION const char* capsim_runaway_end_name(capsim_runaway_end end);
/** Times its present pull that the tissue could sustain for good before the opening gave way. */
typedef struct capsim_runaway_margin {
  size_t struct_size;
  capsim_runaway_end end;
  double contraction_factor; /**< At least 1; 0 when nothing pulls. */
  double area_mm2;           /**< Of the opening there. */
  int64_t equilibria;        /**< Solved to find it. */
} capsim_runaway_margin;
/** The margin of today; it costs about ten equilibria and leaves the simulation as it is. */
CAPSIM_FUNCTION capsim_status capsim_simulation_runaway_margin(capsim_simulation* simulation,
                                                               capsim_runaway_margin* margin);
/** Puts the margin among the outcomes of a history (`runaway_margin`, flag `near_runaway`). */
CAPSIM_FUNCTION capsim_status capsim_history_set_runaway_margin(capsim_history* history,
                                                                const capsim_runaway_margin* margin);

/** Coordinates of the state of today: x y of every node, then those of the optic and of the ring. */
CAPSIM_FUNCTION capsim_status capsim_simulation_positions_mm(const capsim_simulation* simulation, double* x,
                                                             size_t size, size_t* needed);
/** State of the contraction law, variable by variable over the points of the tissue; none without tissue. */
CAPSIM_FUNCTION capsim_status capsim_simulation_tissue_state(const capsim_simulation* simulation, double* y,
                                                             size_t size, size_t* needed);
/** Numbers of the nodes of the equator, counter-clockwise; node k has the coordinates 2k and 2k + 1. */
CAPSIM_FUNCTION capsim_status capsim_simulation_equator_nodes(const capsim_simulation* simulation, int32_t* nodes,
                                                              size_t size, size_t* needed);

/** The complete state as bytes, from which a restored simulation goes on bit for bit. */
CAPSIM_FUNCTION capsim_status capsim_simulation_checkpoint(capsim_simulation* simulation, void* bytes, size_t size,
                                                           size_t* needed);
/**
 * Goes on from a checkpoint. `scenario` NULL: rolls this simulation back. Else a new process goes on:
 * create, foresee the same, and restore with the scenario instead of a start.
 */
CAPSIM_FUNCTION capsim_status capsim_simulation_restore(capsim_simulation* simulation, const capsim_scenario* scenario,
                                                        const void* bytes, size_t size);

/** Why the last call that could fail did; an empty text when it did not. */
CAPSIM_FUNCTION capsim_status capsim_simulation_error(const capsim_simulation* simulation, char* text, size_t size,
                                                      size_t* needed);
CAPSIM_FUNCTION size_t capsim_simulation_violation_count(const capsim_simulation* simulation);
CAPSIM_FUNCTION capsim_status capsim_simulation_violation(const capsim_simulation* simulation, size_t index,
                                                          capsim_violation_part part, char* text, size_t size,
                                                          size_t* needed);

/* ------------------------------------------------------------------------- parts of your own -- */

/** Collects which coordinates of your part act on each other. */
typedef struct capsim_cliques capsim_cliques;
/** The next clique: coordinates that are coupled all with all. */
CAPSIM_FUNCTION void capsim_cliques_add(capsim_cliques* cliques, const int32_t* coordinates, size_t count);
/** Collects the Hessian of your part. */
typedef struct capsim_tangent capsim_tangent;
/** Adds the symmetric n x n matrix (row by row) of clique `clique`, in the order in which you added the cliques. */
CAPSIM_FUNCTION void capsim_tangent_add(capsim_tangent* tangent, size_t clique, const double* matrix);

/**
 * One term of the potential energy [uJ] of your own, on coordinates [mm]. Functions get your pointer; they are called
 * from the thread that runs, in every step, and take `count` coordinates `x`. Neither may leave by longjmp.
 */
typedef struct capsim_part {
  size_t struct_size;
  const char* name; /**< Copied; messages call the part by it. */
  void* user;
  /** Reports the cliques; once for each change of the mesh or of a cut. */
  void (*couplings)(const double* x, size_t count, capsim_cliques* cliques, void* user);
  /** Energy at x; +infinity where x is inadmissible, never a NaN. */
  double (*energy)(const double* x, size_t count, void* user);
  /** Adds the gradient to g and returns the energy. */
  double (*gradient)(const double* x, size_t count, double* g, void* user);
  /** Adds the Hessian; with `positive` a positive semidefinite one close to it. */
  void (*hessian)(const double* x, size_t count, int32_t positive, capsim_tangent* tangent, void* user);
  /** May be NULL. Moves what is fixed in space as a rigid body: a turn [rad] about the origin, then a shift [mm]. */
  void (*move_anchors)(double angle, double x_mm, double y_mm, void* user);
  /** A copy for a simulation or a fork, NULL when there is no memory. May be NULL for a part that never changes: then
   *  all share `user`; with `move_anchors` it must be there. */
  void* (*copy)(const void* user);
  /** May be NULL. Called once for each copy that `copy` made; `user` itself stays yours. */
  void (*release)(void* user);
} capsim_part;

/** The tissue that a law fills, point by point. */
typedef struct capsim_tissue {
  double* fraction;   /**< Of the full thickness, 0 to 1. */
  double* natural[4]; /**< Natural stretch of the families hoop, +45, -45, radial; above 0. */
  double* active[4];  /**< Active tension of each [mN/mm]; NULL unless the law has `active`. */
} capsim_tissue;

/** A contraction law of your own: `variables` numbers at each point, stored variable by variable. */
typedef struct capsim_law {
  size_t struct_size;
  const char* name;
  void* user;
  size_t variables;
  int32_t active; /**< 1: the tissue has active tension. */
  /** State at day 0; `cells` are the cells left at each point, 0 to 1. */
  void (*start)(const double* cells, size_t points, double* y, void* user);
  /** dy/dt [1/day]; `stretches` of the four families, family by family. Finite for finite input. */
  void (*rate)(double day, const double* y, const double* stretches, size_t points, double* dydt, void* user);
  /** Puts the state into the tissue. */
  void (*apply)(const double* y, size_t points, const capsim_tissue* tissue, void* user);
} capsim_law;

/** From the next start on, this part acts too. The struct is copied, your pointer is kept. */
CAPSIM_FUNCTION capsim_status capsim_simulation_add_part(capsim_simulation* simulation, const capsim_part* part);
/** From the next start on, this law replaces the scenario's; NULL: the scenario's again. */
CAPSIM_FUNCTION capsim_status capsim_simulation_set_law(capsim_simulation* simulation, const capsim_law* law);
/**
 * Tries what a part has to be at the coordinates x: derivatives against differences, symmetry, cliques, rigid motion.
 * CAPSIM_OK: nothing was found. CAPSIM_BAD_GUEST: `text` has one line for each fault.
 */
CAPSIM_FUNCTION capsim_status capsim_part_check(const capsim_part* part, const double* x, size_t count, char* text,
                                                size_t size, size_t* needed);
/** The same for a law: finite rates, fractions and natural stretches within their limits. */
CAPSIM_FUNCTION capsim_status capsim_law_check(const capsim_law* law, char* text, size_t size, size_t* needed);

/* -------------------------------------------------------------------------------- populations -- */

/** What eyes of one kind have in common and how they differ; eye number i is always the same eye. */
typedef struct capsim_population capsim_population;

/** Names of the populations that come with the library. NULL when there is none of that number. */
CAPSIM_FUNCTION size_t capsim_population_count(void);
CAPSIM_FUNCTION const char* capsim_population_name(size_t index);

/** An empty one; NULL when there is no memory. */
CAPSIM_FUNCTION capsim_population* capsim_population_create(void);
CAPSIM_FUNCTION void capsim_population_destroy(capsim_population* population);
/** One of the library's; CAPSIM_NOT_FOUND for any other name, the text names those there are. */
CAPSIM_FUNCTION capsim_status capsim_population_find(capsim_population* population, const char* name);
/** One of your own, as a text of `length` bytes (UTF-8 JSON). */
CAPSIM_FUNCTION capsim_status capsim_population_read_json(capsim_population* population, const char* json,
                                                          size_t length);

typedef int32_t capsim_population_part;
enum {
  CAPSIM_POPULATION_NAME = 0,
  CAPSIM_POPULATION_EDITION = 1,
  CAPSIM_POPULATION_DESCRIPTION = 2,
  CAPSIM_POPULATION_JSON = 3 /**< As it was read, with its provenance. */
};
CAPSIM_FUNCTION capsim_status capsim_population_text(const capsim_population* population, capsim_population_part part,
                                                     char* text, size_t size, size_t* needed);
/** Standard deviation of one measured opening area, relative to it. */
CAPSIM_FUNCTION capsim_status capsim_population_area_error(const capsim_population* population, double* error);
/** Contraction laws it was fitted for, as words of `contraction.law`. */
CAPSIM_FUNCTION size_t capsim_population_law_count(const capsim_population* population);
CAPSIM_FUNCTION capsim_status capsim_population_law(const capsim_population* population, size_t index, char* text,
                                                    size_t size, size_t* needed);

/** `base` with the population's settings: its middle eye. `eye` may be `base`. */
CAPSIM_FUNCTION capsim_status capsim_population_typical(capsim_population* population, const capsim_scenario* base,
                                                        capsim_scenario* eye);
/** Eye number `index` of the population. */
CAPSIM_FUNCTION capsim_status capsim_population_draw(capsim_population* population, const capsim_scenario* base,
                                                     uint64_t index, capsim_scenario* eye);
/** Eye number `index` spread about `base` as it is. */
CAPSIM_FUNCTION capsim_status capsim_population_around(capsim_population* population, const capsim_scenario* base,
                                                       uint64_t index, capsim_scenario* eye);
/** The same eye under another contraction law. */
CAPSIM_FUNCTION capsim_status capsim_population_under(capsim_population* population, const capsim_scenario* base,
                                                      const char* law, capsim_scenario* eye);

/** Why the last call that could fail did; an empty text when it did not. */
CAPSIM_FUNCTION capsim_status capsim_population_error(const capsim_population* population, char* text, size_t size,
                                                      size_t* needed);
CAPSIM_FUNCTION size_t capsim_population_violation_count(const capsim_population* population);
CAPSIM_FUNCTION capsim_status capsim_population_violation(const capsim_population* population, size_t index,
                                                          capsim_violation_part part, char* text, size_t size,
                                                          size_t* needed);

/**
 * The value that a share of the finite ones among `values` lies below, linear between neighbours: with 0.1, 0.5 and 0.9
 * over the eyes of a population, the band that belongs beside a forecast. CAPSIM_NOT_FOUND when none is finite.
 */
CAPSIM_FUNCTION capsim_status capsim_quantile(const double* values, size_t count, double share, double* value);

/* ------------------------------------------------------------------------------------ studies -- */

/**
 * The same eyes of a population under every plan and every law it was fitted for, and what follows from them, as JSON
 * text: names, shapes, values of every run, quantiles, paired differences, proportions with their intervals, cautions.
 * Nothing is recommended: trade-offs are laid side by side.
 */
typedef struct capsim_study capsim_study;
/** An empty study; NULL when there is no memory. */
CAPSIM_FUNCTION capsim_study* capsim_study_create(void);
CAPSIM_FUNCTION void capsim_study_destroy(capsim_study* study);
/** From now on, this study tells what it does, from the thread that called; NULL: no longer. */
CAPSIM_FUNCTION capsim_status capsim_study_set_log(capsim_study* study, capsim_log_callback log, void* user);
/**
 * As capsim_history_set_memory_limit, for the studies that follow: what they find, and the runs that go on at the same
 * time, one in each thread. With an executor of your own, `workers` of the options says how many those are at most.
 */
CAPSIM_FUNCTION capsim_status capsim_study_set_memory_limit(capsim_study* study, size_t bytes);

/**
 * What the studies that follow ask for, until capsim_study_clear: an outcome to compare, `opening_area_mm2` (none
 * added: the usual ones); a contraction law, `fibre_remodelling` (none: all that the population was fitted for); the
 * days of visits, ascending (none: 1 day, 1 week, 1, 3, 6, 12 months); cuts at clock hours, `length_mm` long (none: the
 * usual layouts). Whether the plan can have them is told by the study.
 */
CAPSIM_FUNCTION capsim_status capsim_study_add_quantity(capsim_study* study, const char* outcome);
CAPSIM_FUNCTION capsim_status capsim_study_add_law(capsim_study* study, const char* law);
CAPSIM_FUNCTION capsim_status capsim_study_add_schedule(capsim_study* study, const char* name, const double* days,
                                                        size_t count);
CAPSIM_FUNCTION capsim_status capsim_study_add_layout(capsim_study* study, const char* name, const double* hours,
                                                      size_t count, double length_mm, double day);
/** Forgets what was added. */
CAPSIM_FUNCTION capsim_status capsim_study_clear(capsim_study* study);

/** How a crowd is run; zero and NULL mean the default. Start from CAPSIM_STUDY_OPTIONS. */
typedef struct capsim_study_options {
  size_t struct_size;
  int32_t eyes;             /**< The first so many of the population; 0: 64. */
  int32_t typical;          /**< 1: give every plan the population's own settings first. */
  int32_t workers;          /**< Threads of the library, or at most of `executor`; 0: one for each core. */
  capsim_executor executor; /**< Instead of the library's threads, see capsim_batch. */
  void* user;               /**< Handed to `executor`. */
  const capsim_cancel_flag* cancel;
  double deadline_seconds; /**< As in capsim_run_options. */
} capsim_study_options;
/* clang-format off */
#define CAPSIM_STUDY_OPTIONS {sizeof(capsim_study_options), 0, 0, 0, NULL, NULL, NULL, 0}
/* clang-format on */

/** Plans against each other, eye by eye. CAPSIM_NOT_COMPLETED: by flag or deadline; what was run is there. */
CAPSIM_FUNCTION capsim_status capsim_study_compare(capsim_study* study, const capsim_scenario* const* plans,
                                                   size_t count, const capsim_population* population,
                                                   const capsim_study_options* options);
/** When eyes pass a threshold, and what schedules of visits find. `quantity` as `clear_circle_diameter_mm`. */
CAPSIM_FUNCTION capsim_status capsim_study_visits(capsim_study* study, const capsim_scenario* plan,
                                                  const capsim_population* population, const char* quantity,
                                                  double limit, int32_t below, const capsim_study_options* options);
/**
 * Layouts of relaxing cuts side by side: those that were added, or the usual ones of this length, on this day. Show the
 * cautions beside every layout.
 */
CAPSIM_FUNCTION capsim_status capsim_study_cuts(capsim_study* study, const capsim_scenario* plan,
                                                const capsim_population* population, double length_mm, double day,
                                                const capsim_study_options* options);
/** What the last of these found. */
CAPSIM_FUNCTION capsim_status capsim_study_json(const capsim_study* study, char* text, size_t size, size_t* needed);

/** Why the last call that could fail did; an empty text when it did not. */
CAPSIM_FUNCTION capsim_status capsim_study_error(const capsim_study* study, char* text, size_t size, size_t* needed);
CAPSIM_FUNCTION size_t capsim_study_violation_count(const capsim_study* study);
CAPSIM_FUNCTION capsim_status capsim_study_violation(const capsim_study* study, size_t index,
                                                     capsim_violation_part part, char* text, size_t size,
                                                     size_t* needed);

/* ------------------------------------------------------------------------------ sensitivities -- */

/** Derivatives of one run, of the discrete solution itself, by numbers of its scenario. */
typedef struct capsim_sensitivities capsim_sensitivities;
/** Empty; NULL when there is no memory. It may be filled any number of times. */
CAPSIM_FUNCTION capsim_sensitivities* capsim_sensitivities_create(void);
CAPSIM_FUNCTION void capsim_sensitivities_destroy(capsim_sensitivities* sensitivities);
/** From now on, these sensitivities tell what they do; NULL: no longer. */
CAPSIM_FUNCTION capsim_status capsim_sensitivities_set_log(capsim_sensitivities* sensitivities, capsim_log_callback log,
                                                           void* user);
/** As capsim_history_set_memory_limit, for the run and its derivatives, which take more with each parameter. */
CAPSIM_FUNCTION capsim_status capsim_sensitivities_set_memory_limit(capsim_sensitivities* sensitivities, size_t bytes);

/** What to differentiate; zero and NULL mean the default. Start from CAPSIM_SENSITIVITY_OPTIONS. */
typedef struct capsim_sensitivity_options {
  size_t struct_size;
  int32_t no_outcomes;       /**< 1: of series alone. */
  const char* const* series; /**< Names of series to differentiate besides. */
  size_t series_count;
  const double* series_days; /**< Only on rows beside these days; the others are NaN. NULL: on every row. */
  size_t series_day_count;
  const capsim_cancel_flag* cancel; /**< As in capsim_run_options; ended, all derivatives are missing. */
  double deadline_seconds;          /**< As in capsim_run_options. */
} capsim_sensitivity_options;
/* clang-format off */
#define CAPSIM_SENSITIVITY_OPTIONS {sizeof(capsim_sensitivity_options), 0, NULL, 0, NULL, 0, NULL, 0}
/* clang-format on */

/**
 * Runs the scenario and differentiates it by the fields of these paths; an hour of values by hour is one field,
 * `zonule.strength_by_hour.4`. CAPSIM_OK: `sensitivities` holds the run and its derivatives. CAPSIM_NOT_COMPLETED: they
 * are missing (NaN) from some day on, see capsim_sensitivities_message. A path that is not there, or by which a run
 * can't be differentiated, is CAPSIM_INVALID_SCENARIO with the reason for each.
 */
CAPSIM_FUNCTION capsim_status capsim_sensitivities_run(capsim_sensitivities* sensitivities,
                                                       const capsim_scenario* scenario, const char* const* paths,
                                                       size_t count, const capsim_sensitivity_options* options);
/** Copies the run itself into `history`, as capsim_simulate would have filled it. */
CAPSIM_FUNCTION capsim_status capsim_sensitivities_history(const capsim_sensitivities* sensitivities,
                                                           capsim_history* history);

/** A number of the scenario by which derivatives were taken. */
typedef struct capsim_sensitivity_parameter {
  size_t struct_size;
  double value;
  int32_t one_sided; /**< 1: at the low end of what it may be: towards larger values. */
  /** Its change, to first order, that reaches the next kink of a kind on day 0, beside an event or on the last day;
   * infinity: none. Here a bundle of the zonule goes slack or taut. */
  double nearest_slack;
  double nearest_wrinkle; /**< A point of a leaf or of tissue goes slack, wrinkles or gets taut. */
  double nearest_contact; /**< A haptic or a tension ring begins or ends to press. */
  double nearest_jump;    /**< Another meridian, place or hour has the smallest or the largest of a row. */
} capsim_sensitivity_parameter;
CAPSIM_FUNCTION size_t capsim_sensitivities_parameter_count(const capsim_sensitivities* sensitivities);
CAPSIM_FUNCTION capsim_status capsim_sensitivities_parameter(const capsim_sensitivities* sensitivities, size_t index,
                                                             capsim_sensitivity_parameter* parameter);
CAPSIM_FUNCTION capsim_status capsim_sensitivities_parameter_path(const capsim_sensitivities* sensitivities,
                                                                  size_t index, char* text, size_t size,
                                                                  size_t* needed);
CAPSIM_FUNCTION capsim_status capsim_sensitivities_parameter_unit(const capsim_sensitivities* sensitivities,
                                                                  size_t index, char* text, size_t size,
                                                                  size_t* needed);
/** Derivatives of the outcome by each parameter, in their order; NaN where it is not there on both sides. */
CAPSIM_FUNCTION capsim_status capsim_sensitivities_of_outcome(const capsim_sensitivities* sensitivities,
                                                              const char* name, double* values, size_t size,
                                                              size_t* needed);
/** Derivatives of a series that was asked for: rows x columns x parameters numbers, the parameters innermost. */
CAPSIM_FUNCTION capsim_status capsim_sensitivities_of_series(const capsim_sensitivities* sensitivities,
                                                             const char* name, double* values, size_t size,
                                                             size_t* needed);
/** How many kinks the run went through between its rests. */
typedef struct capsim_kink_counts {
  size_t struct_size;
  int64_t slack, wrinkle, contact; /**< As nearest_slack, nearest_wrinkle and nearest_contact. */
} capsim_kink_counts;
CAPSIM_FUNCTION capsim_status capsim_sensitivities_kinks_passed(const capsim_sensitivities* sensitivities,
                                                                capsim_kink_counts* counts);
/** Empty, or why derivatives are missing from some day on. */
CAPSIM_FUNCTION capsim_status capsim_sensitivities_message(const capsim_sensitivities* sensitivities, char* text,
                                                           size_t size, size_t* needed);

/** Why the last call that could fail did; an empty text when it did not. */
CAPSIM_FUNCTION capsim_status capsim_sensitivities_error(const capsim_sensitivities* sensitivities, char* text,
                                                         size_t size, size_t* needed);
CAPSIM_FUNCTION size_t capsim_sensitivities_violation_count(const capsim_sensitivities* sensitivities);
CAPSIM_FUNCTION capsim_status capsim_sensitivities_violation(const capsim_sensitivities* sensitivities, size_t index,
                                                             capsim_violation_part part, char* text, size_t size,
                                                             size_t* needed);

/* ------------------------------------------------------------------------------ result files -- */

/** Writes the history as one HDF5 file, replacing what was there in a single step. */
CAPSIM_FUNCTION capsim_status capsim_history_save(capsim_history* history, const char* path);
/** Replaces what `history` held by that of the file. Below 0: `history` is empty, as with capsim_simulate. */
CAPSIM_FUNCTION capsim_status capsim_history_load(capsim_history* history, const char* path);

#ifdef __cplusplus
} /* extern "C" */
#endif

#endif /* CAPSIM_H */
