// SPDX-License-Identifier: BSD-3-Clause
use crate::error::{c_text, Error, Result};
use crate::{ffi, text_by};
use std::ptr::NonNull;

/// One eye, one operation, one follow-up; fields have the paths of its JSON text.
pub struct Scenario(pub(crate) NonNull<ffi::capsim_scenario>);

// Handles are free of shared state; calls that change one take it as `&mut`.
unsafe impl Send for Scenario {}
unsafe impl Sync for Scenario {}

impl Scenario {
    /// All defaults.
    pub fn new() -> Scenario {
        Scenario(NonNull::new(unsafe { ffi::capsim_scenario_create() }).expect("out of memory"))
    }

    pub fn from_json(text: &str) -> Result<Scenario> {
        let scenario = Scenario::new();
        let status = unsafe { ffi::capsim_scenario_read_json(scenario.raw(), text.as_ptr().cast(), text.len()) };
        scenario.checked(status).map(|()| scenario)
    }

    pub fn to_json(&self) -> String {
        text_by(|t, s, n| unsafe { ffi::capsim_scenario_write_json(self.raw(), -1, t, s, n) }).unwrap_or_default()
    }

    pub fn set_number(&mut self, path: &str, value: f64) -> Result<()> {
        let path = c_text(path)?;
        self.checked(unsafe { ffi::capsim_scenario_set_number(self.raw(), path.as_ptr(), value) })
    }

    pub fn set_text(&mut self, path: &str, value: &str) -> Result<()> {
        let (path, value) = (c_text(path)?, c_text(value)?);
        self.checked(unsafe { ffi::capsim_scenario_set_text(self.raw(), path.as_ptr(), value.as_ptr()) })
    }

    pub fn number(&self, path: &str) -> Result<f64> {
        let (path, mut value) = (c_text(path)?, 0.0);
        match unsafe { ffi::capsim_scenario_get_number(self.raw(), path.as_ptr(), &mut value) } {
            ffi::CAPSIM_OK => Ok(value),
            status => Err(Error::plain(status)),
        }
    }

    /// Every violated constraint, when it can't be run.
    pub fn check(&mut self) -> Result<()> {
        self.checked(unsafe { ffi::capsim_scenario_check(self.raw()) })
    }

    pub(crate) fn raw(&self) -> *mut ffi::capsim_scenario {
        self.0.as_ptr()
    }

    fn checked(&self, status: i32) -> Result<()> {
        if status >= ffi::CAPSIM_OK {
            return Ok(());
        }
        let raw = self.raw();
        Err(Error::told(
            status,
            |t, s, n| unsafe { ffi::capsim_scenario_error(raw, t, s, n) },
            unsafe { ffi::capsim_scenario_violation_count(raw) },
            |k, t, s, n| unsafe { ffi::capsim_scenario_violation(raw, k, ffi::CAPSIM_VIOLATION_LINE, t, s, n) },
        ))
    }
}

impl Default for Scenario {
    fn default() -> Self {
        Scenario::new()
    }
}

impl Clone for Scenario {
    fn clone(&self) -> Self {
        Scenario(NonNull::new(unsafe { ffi::capsim_scenario_copy(self.raw()) }).expect("out of memory"))
    }
}

impl Drop for Scenario {
    fn drop(&mut self) {
        unsafe { ffi::capsim_scenario_destroy(self.raw()) }
    }
}
