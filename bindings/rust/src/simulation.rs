// SPDX-License-Identifier: BSD-3-Clause
use crate::error::{Error, Result};
use crate::{ffi, text_by, text_of_library, History, Scenario};
use std::ptr::NonNull;

/// Ends runs from any thread, after the time step they are in.
pub struct CancelFlag(NonNull<ffi::capsim_cancel_flag>);

unsafe impl Send for CancelFlag {}
unsafe impl Sync for CancelFlag {}

impl CancelFlag {
    pub fn new() -> CancelFlag {
        CancelFlag(NonNull::new(unsafe { ffi::capsim_cancel_flag_create() }).expect("out of memory"))
    }

    pub fn raise(&self) {
        unsafe { ffi::capsim_cancel_flag_raise(self.0.as_ptr()) }
    }

    pub fn lower(&self) {
        unsafe { ffi::capsim_cancel_flag_lower(self.0.as_ptr()) }
    }

    pub(crate) fn options(flag: Option<&CancelFlag>) -> ffi::capsim_run_options {
        ffi::capsim_run_options {
            struct_size: std::mem::size_of::<ffi::capsim_run_options>(),
            progress: None,
            user: std::ptr::null_mut(),
            cancel: flag.map_or(std::ptr::null(), |f| f.0.as_ptr()),
            deadline_seconds: 0.0,
        }
    }
}

impl Default for CancelFlag {
    fn default() -> Self {
        CancelFlag::new()
    }
}

impl Drop for CancelFlag {
    fn drop(&mut self) {
        unsafe { ffi::capsim_cancel_flag_destroy(self.0.as_ptr()) }
    }
}

/// How an advance came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[must_use]
pub enum Advance {
    /// The day asked for, or the scenario's last.
    Reached,
    /// The flag was raised; a further call goes on.
    Cancelled,
    /// For a numerical reason: nothing more can be done.
    Ended,
}

/// Times its present pull that the tissue could sustain for good before the opening gave way.
#[derive(Debug, Clone)]
pub struct RunawayMargin {
    /// "tips", "closes", "holds", "not_followed" or "nothing_pulls".
    pub end: &'static str,
    pub contraction_factor: f64,
    pub area_mm2: f64,
}

/// One eye on its way through time; a clone is a fork.
pub struct Simulation(NonNull<ffi::capsim_simulation>);

unsafe impl Send for Simulation {}

impl Simulation {
    /// At the end of surgery. Cuts at `possible_hours`, of this length, may be made later.
    pub fn start(scenario: &Scenario, possible_hours: &[f64], length_mm: f64) -> Result<Simulation> {
        let s = Simulation(NonNull::new(unsafe { ffi::capsim_simulation_create() }).expect("out of memory"));
        if !possible_hours.is_empty() {
            let (hours, count) = (possible_hours.as_ptr(), possible_hours.len());
            s.checked(unsafe { ffi::capsim_simulation_foresee_cuts(s.raw(), hours, count, length_mm) })?;
        }
        s.checked(unsafe { ffi::capsim_simulation_start(s.raw(), scenario.raw()) }).map(|()| s)
    }

    /// At most to the scenario's last day; the flag, if there is one, may cancel. What went wrong says `message`.
    pub fn advance_to(&mut self, day: f64, flag: Option<&CancelFlag>) -> Result<Advance> {
        let options = CancelFlag::options(flag);
        match unsafe { ffi::capsim_simulation_advance_to(self.raw(), day, &options) } {
            ffi::CAPSIM_OK | ffi::CAPSIM_NOT_COMPLETED => {}
            status => self.checked(status)?,
        }
        Ok(match unsafe { ffi::capsim_simulation_last_advance(self.raw()) } {
            ffi::CAPSIM_ADVANCE_REACHED => Advance::Reached,
            ffi::CAPSIM_ADVANCE_CANCELLED => Advance::Cancelled,
            _ => Advance::Ended,
        })
    }

    /// Why the last call was refused or did not reach its day; empty when it did.
    pub fn message(&self) -> String {
        let raw = self.raw();
        text_by(|t, s, n| unsafe { ffi::capsim_simulation_error(raw, t, s, n) }).unwrap_or_default()
    }

    pub fn cut(&mut self, hours: &[f64], length_mm: f64) -> Result<()> {
        self.checked(unsafe { ffi::capsim_simulation_cut(self.raw(), hours.as_ptr(), hours.len(), length_mm) })
    }

    pub fn day(&self) -> f64 {
        unsafe { ffi::capsim_simulation_day(self.raw()) }
    }

    pub fn opening_area_mm2(&self) -> Result<f64> {
        let mut area = 0.0;
        self.checked(unsafe { ffi::capsim_simulation_opening_area_mm2(self.raw(), &mut area) }).map(|()| area)
    }

    pub fn runaway_margin(&mut self) -> Result<RunawayMargin> {
        let mut found = ffi::capsim_runaway_margin {
            struct_size: std::mem::size_of::<ffi::capsim_runaway_margin>(),
            end: 0,
            contraction_factor: 0.0,
            area_mm2: 0.0,
            equilibria: 0,
        };
        self.checked(unsafe { ffi::capsim_simulation_runaway_margin(self.raw(), &mut found) })?;
        Ok(RunawayMargin {
            end: text_of_library(unsafe { ffi::capsim_runaway_end_name(found.end) }),
            contraction_factor: found.contraction_factor,
            area_mm2: found.area_mm2,
        })
    }

    pub fn history(&self) -> Result<History> {
        let history = History::empty();
        match unsafe { ffi::capsim_simulation_history(self.raw(), history.raw()) } {
            ffi::CAPSIM_OK => Ok(history),
            status => Err(history.error(status)),
        }
    }

    fn raw(&self) -> *mut ffi::capsim_simulation {
        self.0.as_ptr()
    }

    /// A run that ended early can't go on, so that here it is an error too.
    fn checked(&self, status: i32) -> Result<()> {
        if status == ffi::CAPSIM_OK {
            return Ok(());
        }
        let raw = self.raw();
        Err(Error::told(
            status,
            |t, s, n| unsafe { ffi::capsim_simulation_error(raw, t, s, n) },
            unsafe { ffi::capsim_simulation_violation_count(raw) },
            |k, t, s, n| unsafe { ffi::capsim_simulation_violation(raw, k, ffi::CAPSIM_VIOLATION_LINE, t, s, n) },
        ))
    }
}

impl Clone for Simulation {
    fn clone(&self) -> Self {
        Simulation(NonNull::new(unsafe { ffi::capsim_simulation_fork(self.raw()) }).expect("out of memory"))
    }
}

impl Drop for Simulation {
    fn drop(&mut self) {
        unsafe { ffi::capsim_simulation_destroy(self.raw()) }
    }
}
