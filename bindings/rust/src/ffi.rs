// SPDX-License-Identifier: BSD-3-Clause
// Written by bindings/generate.py from bindings/c/capsim.h: change that, not this file.
//! What `capsim.h` declares, as it is: every call is unsafe here. The crate's own types are the safe way.
#![allow(non_camel_case_types, non_snake_case, missing_docs)]

use core::ffi::{c_char, c_void};

pub const CAPSIM_C_API: i32 = 1;
pub const CAPSIM_VERSION_MAJOR: i32 = 0;
pub const CAPSIM_VERSION_MINOR: i32 = 1;
pub const CAPSIM_VERSION_PATCH: i32 = 0;
pub const CAPSIM_VERSION_NUMBER: i32 = 100;
pub type capsim_status = i32;
pub const CAPSIM_OK: i32 = 0;
pub const CAPSIM_NOT_COMPLETED: i32 = 1;
pub const CAPSIM_BAD_ARGUMENT: i32 = -1;
pub const CAPSIM_NOT_FOUND: i32 = -2;
pub const CAPSIM_BUFFER_TOO_SMALL: i32 = -3;
pub const CAPSIM_UNKNOWN_FIELD: i32 = -4;
pub const CAPSIM_WRONG_TYPE: i32 = -5;
pub const CAPSIM_IS_NULL: i32 = -6;
pub const CAPSIM_INVALID_SCENARIO: i32 = -7;
pub const CAPSIM_FILE_ERROR: i32 = -8;
pub const CAPSIM_NOT_BUILT: i32 = -9;
pub const CAPSIM_CALLBACK_FAILED: i32 = -10;
pub const CAPSIM_OUT_OF_MEMORY: i32 = -11;
pub const CAPSIM_INTERNAL_ERROR: i32 = -12;
pub const CAPSIM_NO_REST_STATE: i32 = -13;
pub const CAPSIM_NOT_STARTED: i32 = -14;
pub const CAPSIM_BAD_CHECKPOINT: i32 = -15;
pub const CAPSIM_BAD_GUEST: i32 = -16;
pub const CAPSIM_BUSY: i32 = -17;
pub type capsim_violation_part = i32;
pub const CAPSIM_VIOLATION_PATH: i32 = 0;
pub const CAPSIM_VIOLATION_VALUE: i32 = 1;
pub const CAPSIM_VIOLATION_LIMIT: i32 = 2;
pub const CAPSIM_VIOLATION_HINT: i32 = 3;
pub const CAPSIM_VIOLATION_LINE: i32 = 4;
#[repr(C)]
pub struct capsim_scenario {
    _private: [u8; 0],
}
pub type capsim_field_kind = i32;
pub const CAPSIM_FIELD_NUMBER: i32 = 0;
pub const CAPSIM_FIELD_INTEGER: i32 = 1;
pub const CAPSIM_FIELD_TEXT: i32 = 2;
pub const CAPSIM_FIELD_CHOICE: i32 = 3;
pub const CAPSIM_FIELD_NUMBERS: i32 = 4;
pub const CAPSIM_FIELD_POINT: i32 = 5;
pub const CAPSIM_FIELD_POINTS: i32 = 6;
pub const CAPSIM_FIELD_KNOTS: i32 = 7;
pub const CAPSIM_FIELD_BY_HOUR: i32 = 8;
pub const CAPSIM_FIELD_SECTION: i32 = 9;
#[repr(C)]
#[derive(Clone, Copy)]
pub struct capsim_field {
    pub struct_size: usize,
    pub path: *const c_char,
    pub unit: *const c_char,
    pub kind: capsim_field_kind,
    pub may_be_null: i32,
    pub has_limits: i32,
    pub low_is_outside: i32,
    pub may_be_zero: i32,
    pub has_default: i32,
    pub low: f64,
    pub high: f64,
    pub default_value: f64,
}
#[repr(C)]
#[derive(Clone, Copy)]
pub struct capsim_progress {
    pub struct_size: usize,
    pub day: f64,
    pub duration_days: f64,
    pub opening_area_mm2: f64,
}
pub const CAPSIM_CONTINUE: i32 = 0;
pub const CAPSIM_CANCEL: i32 = 1;
pub type capsim_log_level = i32;
pub const CAPSIM_LOG_INFO: i32 = 0;
pub const CAPSIM_LOG_WARNING: i32 = 1;
pub const CAPSIM_LOG_ERROR: i32 = 2;
pub type capsim_log_callback = Option<unsafe extern "C" fn(level: capsim_log_level, text: *const c_char, user: *mut c_void)>;
pub type capsim_progress_callback = Option<unsafe extern "C" fn(progress: *const capsim_progress, user: *mut c_void) -> i32>;
#[repr(C)]
pub struct capsim_cancel_flag {
    _private: [u8; 0],
}
#[repr(C)]
#[derive(Clone, Copy)]
pub struct capsim_run_options {
    pub struct_size: usize,
    pub progress: capsim_progress_callback,
    pub user: *mut c_void,
    pub cancel: *const capsim_cancel_flag,
    pub deadline_seconds: f64,
}
#[repr(C)]
pub struct capsim_history {
    _private: [u8; 0],
}
pub type capsim_job = Option<unsafe extern "C" fn(batch: *mut c_void, index: usize)>;
pub type capsim_executor = Option<unsafe extern "C" fn(count: usize, job: capsim_job, batch: *mut c_void, user: *mut c_void) -> i32>;
pub type capsim_end = i32;
pub const CAPSIM_END_COMPLETED: i32 = 0;
pub const CAPSIM_END_CANCELLED: i32 = 1;
pub const CAPSIM_END_NO_EQUILIBRIUM: i32 = 2;
pub const CAPSIM_END_FOLDED_ELEMENT: i32 = 3;
pub const CAPSIM_END_TOO_MANY_STEPS: i32 = 4;
pub const CAPSIM_END_NON_FINITE: i32 = 5;
pub const CAPSIM_END_TOO_MUCH_WORK: i32 = 6;
pub const CAPSIM_END_STEP_TOO_SMALL: i32 = 7;
pub const CAPSIM_END_NONE: i32 = -1;
#[repr(C)]
#[derive(Clone, Copy)]
pub struct capsim_cut {
    pub struct_size: usize,
    pub hour: f64,
    pub length_mm: f64,
    pub length_on_day_mm: f64,
    pub day: f64,
}
#[repr(C)]
#[derive(Clone, Copy)]
pub struct capsim_diagnostics {
    pub struct_size: usize,
    pub steps: i64,
    pub rejected_steps: i64,
    pub right_hand_sides: i64,
    pub equilibria: i64,
    pub newton_iterations: i64,
    pub max_newton_iterations: i64,
    pub factorizations: i64,
    pub residual_mN: f64,
    pub tolerance_mN: f64,
    pub worst_element_hour: f64,
    pub worst_element_ratio: f64,
    pub last_good_day: f64,
    pub wall_seconds: f64,
    pub projected_factorizations: i64,
    pub seconds_elements: f64,
    pub seconds_factor: f64,
    pub seconds_solve: f64,
    pub work: f64,
    pub least_pivot_mN_per_mm: f64,
    pub saddles_left: i64,
    pub outline_off_mm: f64,
}
#[repr(C)]
pub struct capsim_simulation {
    _private: [u8; 0],
}
pub type capsim_advance = i32;
pub const CAPSIM_ADVANCE_REACHED: i32 = 0;
pub const CAPSIM_ADVANCE_CANCELLED: i32 = 1;
pub const CAPSIM_ADVANCE_ENDED: i32 = 2;
pub const CAPSIM_ADVANCE_NONE: i32 = -1;
pub type capsim_runaway_end = i32;
pub const CAPSIM_RUNAWAY_TIPS: i32 = 0;
pub const CAPSIM_RUNAWAY_CLOSES: i32 = 1;
pub const CAPSIM_RUNAWAY_HOLDS: i32 = 2;
pub const CAPSIM_RUNAWAY_NOT_FOLLOWED: i32 = 3;
pub const CAPSIM_RUNAWAY_NOTHING_PULLS: i32 = 4;
#[repr(C)]
#[derive(Clone, Copy)]
pub struct capsim_runaway_margin {
    pub struct_size: usize,
    pub end: capsim_runaway_end,
    pub contraction_factor: f64,
    pub area_mm2: f64,
    pub equilibria: i64,
}
#[repr(C)]
pub struct capsim_cliques {
    _private: [u8; 0],
}
#[repr(C)]
pub struct capsim_tangent {
    _private: [u8; 0],
}
#[repr(C)]
#[derive(Clone, Copy)]
pub struct capsim_part {
    pub struct_size: usize,
    pub name: *const c_char,
    pub user: *mut c_void,
    pub couplings: Option<unsafe extern "C" fn(x: *const f64, count: usize, cliques: *mut capsim_cliques, user: *mut c_void)>,
    pub energy: Option<unsafe extern "C" fn(x: *const f64, count: usize, user: *mut c_void) -> f64>,
    pub gradient: Option<unsafe extern "C" fn(x: *const f64, count: usize, g: *mut f64, user: *mut c_void) -> f64>,
    pub hessian: Option<unsafe extern "C" fn(x: *const f64, count: usize, positive: i32, tangent: *mut capsim_tangent, user: *mut c_void)>,
    pub move_anchors: Option<unsafe extern "C" fn(angle: f64, x_mm: f64, y_mm: f64, user: *mut c_void)>,
    pub copy: Option<unsafe extern "C" fn(user: *const c_void) -> *mut c_void>,
    pub release: Option<unsafe extern "C" fn(user: *mut c_void)>,
}
#[repr(C)]
#[derive(Clone, Copy)]
pub struct capsim_tissue {
    pub fraction: *mut f64,
    pub natural: [*mut f64; 4],
    pub active: [*mut f64; 4],
}
#[repr(C)]
#[derive(Clone, Copy)]
pub struct capsim_law {
    pub struct_size: usize,
    pub name: *const c_char,
    pub user: *mut c_void,
    pub variables: usize,
    pub active: i32,
    pub start: Option<unsafe extern "C" fn(cells: *const f64, points: usize, y: *mut f64, user: *mut c_void)>,
    pub rate: Option<unsafe extern "C" fn(day: f64, y: *const f64, stretches: *const f64, points: usize, dydt: *mut f64, user: *mut c_void)>,
    pub apply: Option<unsafe extern "C" fn(y: *const f64, points: usize, tissue: *const capsim_tissue, user: *mut c_void)>,
}
#[repr(C)]
pub struct capsim_population {
    _private: [u8; 0],
}
pub type capsim_population_part = i32;
pub const CAPSIM_POPULATION_NAME: i32 = 0;
pub const CAPSIM_POPULATION_EDITION: i32 = 1;
pub const CAPSIM_POPULATION_DESCRIPTION: i32 = 2;
pub const CAPSIM_POPULATION_JSON: i32 = 3;
#[repr(C)]
pub struct capsim_study {
    _private: [u8; 0],
}
#[repr(C)]
#[derive(Clone, Copy)]
pub struct capsim_study_options {
    pub struct_size: usize,
    pub eyes: i32,
    pub typical: i32,
    pub workers: i32,
    pub executor: capsim_executor,
    pub user: *mut c_void,
    pub cancel: *const capsim_cancel_flag,
    pub deadline_seconds: f64,
}
#[repr(C)]
pub struct capsim_sensitivities {
    _private: [u8; 0],
}
#[repr(C)]
#[derive(Clone, Copy)]
pub struct capsim_sensitivity_options {
    pub struct_size: usize,
    pub no_outcomes: i32,
    pub series: *const *const c_char,
    pub series_count: usize,
    pub series_days: *const f64,
    pub series_day_count: usize,
    pub cancel: *const capsim_cancel_flag,
    pub deadline_seconds: f64,
}
#[repr(C)]
#[derive(Clone, Copy)]
pub struct capsim_sensitivity_parameter {
    pub struct_size: usize,
    pub value: f64,
    pub one_sided: i32,
    pub nearest_slack: f64,
    pub nearest_wrinkle: f64,
    pub nearest_contact: f64,
    pub nearest_jump: f64,
}
#[repr(C)]
#[derive(Clone, Copy)]
pub struct capsim_kink_counts {
    pub struct_size: usize,
    pub contact: i64,
}

unsafe extern "C" {
    pub fn capsim_c_api() -> i32;
    pub fn capsim_version_number() -> i32;
    pub fn capsim_version() -> *const c_char;
    pub fn capsim_has_results_file() -> i32;
    pub fn capsim_research_caution() -> *const c_char;
    pub fn capsim_relaxing_cut_caution() -> *const c_char;
    pub fn capsim_status_name(status: capsim_status) -> *const c_char;
    pub fn capsim_status_text(status: capsim_status) -> *const c_char;
    pub fn capsim_scenario_create() -> *mut capsim_scenario;
    pub fn capsim_scenario_copy(scenario: *const capsim_scenario) -> *mut capsim_scenario;
    pub fn capsim_scenario_destroy(scenario: *mut capsim_scenario);
    pub fn capsim_scenario_read_json(scenario: *mut capsim_scenario, text: *const c_char, length: usize) -> capsim_status;
    pub fn capsim_scenario_read_file(scenario: *mut capsim_scenario, path: *const c_char) -> capsim_status;
    pub fn capsim_scenario_write_json(scenario: *const capsim_scenario, indent: i32, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_scenario_set_number(scenario: *mut capsim_scenario, path: *const c_char, value: f64) -> capsim_status;
    pub fn capsim_scenario_set_integer(scenario: *mut capsim_scenario, path: *const c_char, value: i64) -> capsim_status;
    pub fn capsim_scenario_set_text(scenario: *mut capsim_scenario, path: *const c_char, value: *const c_char) -> capsim_status;
    pub fn capsim_scenario_set_numbers(scenario: *mut capsim_scenario, path: *const c_char, values: *const f64, count: usize) -> capsim_status;
    pub fn capsim_scenario_set_null(scenario: *mut capsim_scenario, path: *const c_char) -> capsim_status;
    pub fn capsim_scenario_set_default(scenario: *mut capsim_scenario, path: *const c_char) -> capsim_status;
    pub fn capsim_scenario_set_present(scenario: *mut capsim_scenario, path: *const c_char) -> capsim_status;
    pub fn capsim_scenario_get_number(scenario: *const capsim_scenario, path: *const c_char, value: *mut f64) -> capsim_status;
    pub fn capsim_scenario_get_integer(scenario: *const capsim_scenario, path: *const c_char, value: *mut i64) -> capsim_status;
    pub fn capsim_scenario_get_text(scenario: *const capsim_scenario, path: *const c_char, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_scenario_get_numbers(scenario: *const capsim_scenario, path: *const c_char, values: *mut f64, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_scenario_event_count(scenario: *const capsim_scenario) -> usize;
    pub fn capsim_scenario_add_relaxing_cuts(scenario: *mut capsim_scenario, day: f64, hours: *const f64, count: usize, length_mm: f64) -> capsim_status;
    pub fn capsim_scenario_add_zonule_damage(scenario: *mut capsim_scenario, day: f64, hours: *const i32, strengths: *const f64, count: usize) -> capsim_status;
    pub fn capsim_scenario_add_tension_ring(scenario: *mut capsim_scenario, day: f64) -> capsim_status;
    pub fn capsim_scenario_remove_event(scenario: *mut capsim_scenario, index: usize) -> capsim_status;
    pub fn capsim_scenario_mirror(scenario: *mut capsim_scenario) -> capsim_status;
    pub fn capsim_scenario_rotate(scenario: *mut capsim_scenario, hours: i32) -> capsim_status;
    pub fn capsim_scenario_check(scenario: *mut capsim_scenario) -> capsim_status;
    pub fn capsim_scenario_error(scenario: *const capsim_scenario, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_scenario_violation_count(scenario: *const capsim_scenario) -> usize;
    pub fn capsim_scenario_violation(scenario: *const capsim_scenario, index: usize, part: capsim_violation_part, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_field_count() -> usize;
    pub fn capsim_field_at(index: usize, field: *mut capsim_field) -> capsim_status;
    pub fn capsim_field_choice(index: usize, choice: usize) -> *const c_char;
    pub fn capsim_scenario_schema(text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_cancel_flag_create() -> *mut capsim_cancel_flag;
    pub fn capsim_cancel_flag_destroy(flag: *mut capsim_cancel_flag);
    pub fn capsim_cancel_flag_raise(flag: *mut capsim_cancel_flag);
    pub fn capsim_cancel_flag_lower(flag: *mut capsim_cancel_flag);
    pub fn capsim_cancel_flag_is_raised(flag: *const capsim_cancel_flag) -> i32;
    pub fn capsim_history_create() -> *mut capsim_history;
    pub fn capsim_history_destroy(history: *mut capsim_history);
    pub fn capsim_simulate(scenario: *const capsim_scenario, options: *const capsim_run_options, history: *mut capsim_history) -> capsim_status;
    pub fn capsim_batch(scenarios: *const *const capsim_scenario, histories: *const *mut capsim_history, statuses: *mut capsim_status, count: usize, options: *const capsim_run_options, executor: capsim_executor, user: *mut c_void) -> capsim_status;
    pub fn capsim_history_set_log(history: *mut capsim_history, log: capsim_log_callback, user: *mut c_void) -> capsim_status;
    pub fn capsim_history_set_memory_limit(history: *mut capsim_history, bytes: usize) -> capsim_status;
    pub fn capsim_history_error(history: *const capsim_history, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_history_violation_count(history: *const capsim_history) -> usize;
    pub fn capsim_history_violation(history: *const capsim_history, index: usize, part: capsim_violation_part, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_history_end(history: *const capsim_history) -> capsim_end;
    pub fn capsim_end_name(end: capsim_end) -> *const c_char;
    pub fn capsim_history_message(history: *const capsim_history, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_history_version(history: *const capsim_history, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_history_scenario(history: *const capsim_history, scenario: *mut capsim_scenario) -> capsim_status;
    pub fn capsim_history_rows(history: *const capsim_history) -> usize;
    pub fn capsim_history_row_at(history: *const capsim_history, day: f64, row: *mut usize) -> capsim_status;
    pub fn capsim_history_series_count(history: *const capsim_history) -> usize;
    pub fn capsim_history_series_name(history: *const capsim_history, index: usize, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_history_series_unit(history: *const capsim_history, name: *const c_char, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_history_series_description(history: *const capsim_history, name: *const c_char, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_history_columns(history: *const capsim_history, name: *const c_char, columns: *mut usize) -> capsim_status;
    pub fn capsim_history_values(history: *const capsim_history, name: *const c_char, values: *mut f64, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_history_value(history: *const capsim_history, name: *const c_char, row: usize, column: usize, value: *mut f64) -> capsim_status;
    pub fn capsim_history_outline_mm(history: *const capsim_history, row: usize, xy: *mut f64, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_history_cut_count(history: *const capsim_history) -> usize;
    pub fn capsim_history_cut(history: *const capsim_history, index: usize, cut: *mut capsim_cut) -> capsim_status;
    pub fn capsim_history_diagnostics(history: *const capsim_history, diagnostics: *mut capsim_diagnostics) -> capsim_status;
    pub fn capsim_diagnostic_count() -> usize;
    pub fn capsim_diagnostic_name(index: usize) -> *const c_char;
    pub fn capsim_diagnostic_unit(index: usize) -> *const c_char;
    pub fn capsim_diagnostic_description(index: usize) -> *const c_char;
    pub fn capsim_history_diagnostic(history: *const capsim_history, name: *const c_char, value: *mut f64) -> capsim_status;
    pub fn capsim_history_outcome_count(history: *const capsim_history) -> usize;
    pub fn capsim_history_outcome_name(history: *const capsim_history, index: usize, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_history_outcome_unit(history: *const capsim_history, name: *const c_char, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_history_outcome_description(history: *const capsim_history, name: *const c_char, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_history_outcome_value(history: *const capsim_history, name: *const c_char, value: *mut f64) -> capsim_status;
    pub fn capsim_history_flag_count(history: *const capsim_history) -> usize;
    pub fn capsim_history_flag_code(history: *const capsim_history, index: usize, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_history_flag_text(history: *const capsim_history, index: usize, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_history_caution_count(history: *const capsim_history) -> usize;
    pub fn capsim_history_caution(history: *const capsim_history, index: usize, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_simulation_create() -> *mut capsim_simulation;
    pub fn capsim_simulation_destroy(simulation: *mut capsim_simulation);
    pub fn capsim_simulation_fork(simulation: *const capsim_simulation) -> *mut capsim_simulation;
    pub fn capsim_simulation_set_log(simulation: *mut capsim_simulation, log: capsim_log_callback, user: *mut c_void) -> capsim_status;
    pub fn capsim_simulation_set_memory_limit(simulation: *mut capsim_simulation, bytes: usize) -> capsim_status;
    pub fn capsim_simulation_set_watch(simulation: *mut capsim_simulation, watch: *const capsim_run_options) -> capsim_status;
    pub fn capsim_simulation_foresee_cuts(simulation: *mut capsim_simulation, hours: *const f64, count: usize, length_mm: f64) -> capsim_status;
    pub fn capsim_simulation_foresee_ring(simulation: *mut capsim_simulation) -> capsim_status;
    pub fn capsim_simulation_start(simulation: *mut capsim_simulation, scenario: *const capsim_scenario) -> capsim_status;
    pub fn capsim_simulation_advance_to(simulation: *mut capsim_simulation, day: f64, options: *const capsim_run_options) -> capsim_status;
    pub fn capsim_simulation_last_advance(simulation: *const capsim_simulation) -> capsim_advance;
    pub fn capsim_advance_name(how: capsim_advance) -> *const c_char;
    pub fn capsim_simulation_cut(simulation: *mut capsim_simulation, hours: *const f64, count: usize, length_mm: f64) -> capsim_status;
    pub fn capsim_simulation_damage_zonule(simulation: *mut capsim_simulation, hours: *const i32, strengths: *const f64, count: usize) -> capsim_status;
    pub fn capsim_simulation_insert_ring(simulation: *mut capsim_simulation, ring: *const capsim_scenario) -> capsim_status;
    pub fn capsim_simulation_apply_event(simulation: *mut capsim_simulation, from: *const capsim_scenario, index: usize) -> capsim_status;
    pub fn capsim_simulation_day(simulation: *const capsim_simulation) -> f64;
    pub fn capsim_simulation_opening_area_mm2(simulation: *const capsim_simulation, area: *mut f64) -> capsim_status;
    pub fn capsim_simulation_end(simulation: *const capsim_simulation) -> capsim_end;
    pub fn capsim_simulation_history(simulation: *const capsim_simulation, history: *mut capsim_history) -> capsim_status;
    pub fn capsim_simulation_memory_bytes(simulation: *const capsim_simulation) -> usize;
    pub fn capsim_runaway_end_name(end: capsim_runaway_end) -> *const c_char;
    pub fn capsim_simulation_runaway_margin(simulation: *mut capsim_simulation, margin: *mut capsim_runaway_margin) -> capsim_status;
    pub fn capsim_history_set_runaway_margin(history: *mut capsim_history, margin: *const capsim_runaway_margin) -> capsim_status;
    pub fn capsim_simulation_positions_mm(simulation: *const capsim_simulation, x: *mut f64, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_simulation_tissue_state(simulation: *const capsim_simulation, y: *mut f64, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_simulation_equator_nodes(simulation: *const capsim_simulation, nodes: *mut i32, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_simulation_checkpoint(simulation: *mut capsim_simulation, bytes: *mut c_void, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_simulation_restore(simulation: *mut capsim_simulation, scenario: *const capsim_scenario, bytes: *const c_void, size: usize) -> capsim_status;
    pub fn capsim_simulation_error(simulation: *const capsim_simulation, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_simulation_violation_count(simulation: *const capsim_simulation) -> usize;
    pub fn capsim_simulation_violation(simulation: *const capsim_simulation, index: usize, part: capsim_violation_part, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_cliques_add(cliques: *mut capsim_cliques, coordinates: *const i32, count: usize);
    pub fn capsim_tangent_add(tangent: *mut capsim_tangent, clique: usize, matrix: *const f64);
    pub fn capsim_simulation_add_part(simulation: *mut capsim_simulation, part: *const capsim_part) -> capsim_status;
    pub fn capsim_simulation_set_law(simulation: *mut capsim_simulation, law: *const capsim_law) -> capsim_status;
    pub fn capsim_part_check(part: *const capsim_part, x: *const f64, count: usize, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_law_check(law: *const capsim_law, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_population_count() -> usize;
    pub fn capsim_population_name(index: usize) -> *const c_char;
    pub fn capsim_population_create() -> *mut capsim_population;
    pub fn capsim_population_destroy(population: *mut capsim_population);
    pub fn capsim_population_find(population: *mut capsim_population, name: *const c_char) -> capsim_status;
    pub fn capsim_population_read_json(population: *mut capsim_population, json: *const c_char, length: usize) -> capsim_status;
    pub fn capsim_population_text(population: *const capsim_population, part: capsim_population_part, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_population_area_error(population: *const capsim_population, error: *mut f64) -> capsim_status;
    pub fn capsim_population_law_count(population: *const capsim_population) -> usize;
    pub fn capsim_population_law(population: *const capsim_population, index: usize, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_population_typical(population: *mut capsim_population, base: *const capsim_scenario, eye: *mut capsim_scenario) -> capsim_status;
    pub fn capsim_population_draw(population: *mut capsim_population, base: *const capsim_scenario, index: u64, eye: *mut capsim_scenario) -> capsim_status;
    pub fn capsim_population_around(population: *mut capsim_population, base: *const capsim_scenario, index: u64, eye: *mut capsim_scenario) -> capsim_status;
    pub fn capsim_population_under(population: *mut capsim_population, base: *const capsim_scenario, law: *const c_char, eye: *mut capsim_scenario) -> capsim_status;
    pub fn capsim_population_error(population: *const capsim_population, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_population_violation_count(population: *const capsim_population) -> usize;
    pub fn capsim_population_violation(population: *const capsim_population, index: usize, part: capsim_violation_part, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_quantile(values: *const f64, count: usize, share: f64, value: *mut f64) -> capsim_status;
    pub fn capsim_study_create() -> *mut capsim_study;
    pub fn capsim_study_destroy(study: *mut capsim_study);
    pub fn capsim_study_set_log(study: *mut capsim_study, log: capsim_log_callback, user: *mut c_void) -> capsim_status;
    pub fn capsim_study_set_memory_limit(study: *mut capsim_study, bytes: usize) -> capsim_status;
    pub fn capsim_study_add_quantity(study: *mut capsim_study, outcome: *const c_char) -> capsim_status;
    pub fn capsim_study_add_law(study: *mut capsim_study, law: *const c_char) -> capsim_status;
    pub fn capsim_study_add_schedule(study: *mut capsim_study, name: *const c_char, days: *const f64, count: usize) -> capsim_status;
    pub fn capsim_study_add_layout(study: *mut capsim_study, name: *const c_char, hours: *const f64, count: usize, length_mm: f64, day: f64) -> capsim_status;
    pub fn capsim_study_clear(study: *mut capsim_study) -> capsim_status;
    pub fn capsim_study_compare(study: *mut capsim_study, plans: *const *const capsim_scenario, count: usize, population: *const capsim_population, options: *const capsim_study_options) -> capsim_status;
    pub fn capsim_study_visits(study: *mut capsim_study, plan: *const capsim_scenario, population: *const capsim_population, quantity: *const c_char, limit: f64, below: i32, options: *const capsim_study_options) -> capsim_status;
    pub fn capsim_study_cuts(study: *mut capsim_study, plan: *const capsim_scenario, population: *const capsim_population, length_mm: f64, day: f64, options: *const capsim_study_options) -> capsim_status;
    pub fn capsim_study_json(study: *const capsim_study, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_study_error(study: *const capsim_study, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_study_violation_count(study: *const capsim_study) -> usize;
    pub fn capsim_study_violation(study: *const capsim_study, index: usize, part: capsim_violation_part, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_sensitivities_create() -> *mut capsim_sensitivities;
    pub fn capsim_sensitivities_destroy(sensitivities: *mut capsim_sensitivities);
    pub fn capsim_sensitivities_set_log(sensitivities: *mut capsim_sensitivities, log: capsim_log_callback, user: *mut c_void) -> capsim_status;
    pub fn capsim_sensitivities_set_memory_limit(sensitivities: *mut capsim_sensitivities, bytes: usize) -> capsim_status;
    pub fn capsim_sensitivities_run(sensitivities: *mut capsim_sensitivities, scenario: *const capsim_scenario, paths: *const *const c_char, count: usize, options: *const capsim_sensitivity_options) -> capsim_status;
    pub fn capsim_sensitivities_history(sensitivities: *const capsim_sensitivities, history: *mut capsim_history) -> capsim_status;
    pub fn capsim_sensitivities_parameter_count(sensitivities: *const capsim_sensitivities) -> usize;
    pub fn capsim_sensitivities_parameter(sensitivities: *const capsim_sensitivities, index: usize, parameter: *mut capsim_sensitivity_parameter) -> capsim_status;
    pub fn capsim_sensitivities_parameter_path(sensitivities: *const capsim_sensitivities, index: usize, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_sensitivities_parameter_unit(sensitivities: *const capsim_sensitivities, index: usize, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_sensitivities_of_outcome(sensitivities: *const capsim_sensitivities, name: *const c_char, values: *mut f64, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_sensitivities_of_series(sensitivities: *const capsim_sensitivities, name: *const c_char, values: *mut f64, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_sensitivities_kinks_passed(sensitivities: *const capsim_sensitivities, counts: *mut capsim_kink_counts) -> capsim_status;
    pub fn capsim_sensitivities_message(sensitivities: *const capsim_sensitivities, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_sensitivities_error(sensitivities: *const capsim_sensitivities, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_sensitivities_violation_count(sensitivities: *const capsim_sensitivities) -> usize;
    pub fn capsim_sensitivities_violation(sensitivities: *const capsim_sensitivities, index: usize, part: capsim_violation_part, text: *mut c_char, size: usize, needed: *mut usize) -> capsim_status;
    pub fn capsim_history_save(history: *mut capsim_history, path: *const c_char) -> capsim_status;
    pub fn capsim_history_load(history: *mut capsim_history, path: *const c_char) -> capsim_status;
}
