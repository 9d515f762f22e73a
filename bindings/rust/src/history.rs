// SPDX-License-Identifier: BSD-3-Clause
use crate::error::{c_text, Error, Result};
use crate::simulation::CancelFlag;
use crate::{ffi, numbers_by, text_by, text_of_library, Scenario};
use std::ffi::c_void;
use std::ptr::NonNull;
use std::sync::atomic::{AtomicUsize, Ordering};

/// What a run leaves behind.
pub struct History(pub(crate) NonNull<ffi::capsim_history>);

unsafe impl Send for History {}
unsafe impl Sync for History {}

impl History {
    pub(crate) fn empty() -> History {
        History(NonNull::new(unsafe { ffi::capsim_history_create() }).expect("out of memory"))
    }

    /// "completed", or why the run went no further.
    pub fn status(&self) -> &'static str {
        text_of_library(unsafe { ffi::capsim_end_name(ffi::capsim_history_end(self.raw())) })
    }

    /// One sentence: why the run ended.
    pub fn message(&self) -> String {
        text_by(|t, s, n| unsafe { ffi::capsim_history_message(self.raw(), t, s, n) }).unwrap_or_default()
    }

    pub fn rows(&self) -> usize {
        unsafe { ffi::capsim_history_rows(self.raw()) }
    }

    /// All values of a series, row after row.
    pub fn series(&self, name: &str) -> Option<Vec<f64>> {
        let name = c_text(name).ok()?;
        numbers_by(|v, s, n| unsafe { ffi::capsim_history_values(self.raw(), name.as_ptr(), v, s, n) })
    }

    pub fn outcome(&self, name: &str) -> Option<f64> {
        let (name, mut value) = (c_text(name).ok()?, 0.0);
        let status = unsafe { ffi::capsim_history_outcome_value(self.raw(), name.as_ptr(), &mut value) };
        (status == ffi::CAPSIM_OK).then_some(value)
    }

    /// To be shown wherever the result is shown.
    pub fn cautions(&self) -> Vec<String> {
        (0..unsafe { ffi::capsim_history_caution_count(self.raw()) })
            .filter_map(|k| text_by(|t, s, n| unsafe { ffi::capsim_history_caution(self.raw(), k, t, s, n) }))
            .collect()
    }

    pub(crate) fn raw(&self) -> *mut ffi::capsim_history {
        self.0.as_ptr()
    }

    pub(crate) fn error(&self, status: i32) -> Error {
        let raw = self.raw();
        Error::told(
            status,
            |t, s, n| unsafe { ffi::capsim_history_error(raw, t, s, n) },
            unsafe { ffi::capsim_history_violation_count(raw) },
            |k, t, s, n| unsafe { ffi::capsim_history_violation(raw, k, ffi::CAPSIM_VIOLATION_LINE, t, s, n) },
        )
    }
}

impl Drop for History {
    fn drop(&mut self) {
        unsafe { ffi::capsim_history_destroy(self.raw()) }
    }
}

/// Runs the scenario. A run that ended early for a numerical reason, or by the flag, is a history too: see `status`.
pub fn simulate(scenario: &Scenario, cancel: Option<&CancelFlag>) -> Result<History> {
    let history = History::empty();
    let options = CancelFlag::options(cancel);
    match unsafe { ffi::capsim_simulate(scenario.raw(), &options, history.raw()) } {
        status if status >= ffi::CAPSIM_OK => Ok(history),
        status => Err(history.error(status)),
    }
}

/// Runs all scenarios on so many threads of Rust; the results do not depend on their number.
pub fn simulate_all(scenarios: &[Scenario], threads: usize) -> Result<Vec<History>> {
    let histories: Vec<History> = scenarios.iter().map(|_| History::empty()).collect();
    let from: Vec<*const ffi::capsim_scenario> = scenarios.iter().map(|s| s.raw().cast_const()).collect();
    let to: Vec<*mut ffi::capsim_history> = histories.iter().map(|h| h.raw()).collect();
    let mut statuses = vec![0; scenarios.len()];
    let mut workers = threads.max(1);
    let status = unsafe {
        ffi::capsim_batch(
            from.as_ptr(),
            to.as_ptr(),
            statuses.as_mut_ptr(),
            from.len(),
            std::ptr::null(),
            Some(on_threads),
            (&raw mut workers).cast(),
        )
    };
    if status >= ffi::CAPSIM_OK {
        return Ok(histories);
    }
    let first = statuses.iter().position(|&one| one < ffi::CAPSIM_OK);
    Err(first.map_or_else(|| Error::plain(status), |k| histories[k].error(statuses[k])))
}

/// A pointer that the library lets any thread use.
#[derive(Clone, Copy)]
struct Shared(*mut c_void);
unsafe impl Send for Shared {}
unsafe impl Sync for Shared {}
impl Shared {
    fn get(self) -> *mut c_void {
        self.0
    }
}

unsafe extern "C" fn on_threads(count: usize, job: ffi::capsim_job, batch: *mut c_void, user: *mut c_void) -> i32 {
    let Some(job) = job else { return 1 };
    let (next, batch, workers) = (AtomicUsize::new(0), Shared(batch), *user.cast::<usize>());
    std::thread::scope(|scope| {
        for _ in 0..workers {
            scope.spawn(|| loop {
                let k = next.fetch_add(1, Ordering::Relaxed);
                if k >= count {
                    break;
                }
                unsafe { job(batch.get(), k) }
            });
        }
    });
    0
}
