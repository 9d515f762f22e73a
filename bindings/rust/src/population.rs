// SPDX-License-Identifier: BSD-3-Clause
use crate::error::{c_text, Error, Result};
use crate::{ffi, text_by, text_of_library, Scenario};
use std::ptr::NonNull;

/// What eyes of one kind have in common and how they differ; eye number i is always the same eye.
pub struct Population(NonNull<ffi::capsim_population>);

unsafe impl Send for Population {}

/// Names of the populations that come with the library.
pub fn population_names() -> Vec<&'static str> {
    (0..unsafe { ffi::capsim_population_count() })
        .map(|k| text_of_library(unsafe { ffi::capsim_population_name(k) }))
        .collect()
}

impl Population {
    /// One of the library's; the error of any other name tells those there are.
    pub fn find(name: &str) -> Result<Population> {
        let name = c_text(name)?;
        let raw = unsafe { ffi::capsim_population_create() };
        let population = Population(NonNull::new(raw).expect("out of memory"));
        population.checked(unsafe { ffi::capsim_population_find(raw, name.as_ptr()) }).map(|()| population)
    }

    pub fn description(&self) -> String {
        let part = ffi::CAPSIM_POPULATION_DESCRIPTION;
        text_by(|t, s, n| unsafe { ffi::capsim_population_text(self.raw(), part, t, s, n) }).unwrap_or_default()
    }

    /// Contraction laws it was fitted for.
    pub fn laws(&self) -> Vec<String> {
        (0..unsafe { ffi::capsim_population_law_count(self.raw()) })
            .filter_map(|k| text_by(|t, s, n| unsafe { ffi::capsim_population_law(self.raw(), k, t, s, n) }))
            .collect()
    }

    /// Eye number `index` of the population.
    pub fn draw(&mut self, base: &Scenario, index: u64) -> Result<Scenario> {
        let eye = Scenario::new();
        self.checked(unsafe { ffi::capsim_population_draw(self.raw(), base.raw(), index, eye.raw()) }).map(|()| eye)
    }

    /// Eye number `index` spread about `base` as it is.
    pub fn around(&mut self, base: &Scenario, index: u64) -> Result<Scenario> {
        let eye = Scenario::new();
        self.checked(unsafe { ffi::capsim_population_around(self.raw(), base.raw(), index, eye.raw()) }).map(|()| eye)
    }

    /// The same eye under another contraction law.
    pub fn under(&mut self, base: &Scenario, law: &str) -> Result<Scenario> {
        let (law, eye) = (c_text(law)?, Scenario::new());
        self.checked(unsafe { ffi::capsim_population_under(self.raw(), base.raw(), law.as_ptr(), eye.raw()) })
            .map(|()| eye)
    }

    fn raw(&self) -> *mut ffi::capsim_population {
        self.0.as_ptr()
    }

    fn checked(&self, status: i32) -> Result<()> {
        if status >= ffi::CAPSIM_OK {
            return Ok(());
        }
        let raw = self.raw();
        Err(Error::told(
            status,
            |t, s, n| unsafe { ffi::capsim_population_error(raw, t, s, n) },
            unsafe { ffi::capsim_population_violation_count(raw) },
            |k, t, s, n| unsafe { ffi::capsim_population_violation(raw, k, ffi::CAPSIM_VIOLATION_LINE, t, s, n) },
        ))
    }
}

impl Drop for Population {
    fn drop(&mut self) {
        unsafe { ffi::capsim_population_destroy(self.raw()) }
    }
}

/// Median, and the values that a tenth of the eyes lie below and above.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    pub low: f64,
    pub median: f64,
    pub high: f64,
}

/// Of the finite ones among `values`; none when there are none.
pub fn band(values: &[f64]) -> Option<Band> {
    let at = |share| {
        let mut value = 0.0;
        let status = unsafe { ffi::capsim_quantile(values.as_ptr(), values.len(), share, &mut value) };
        (status == ffi::CAPSIM_OK).then_some(value)
    };
    Some(Band { low: at(0.1)?, median: at(0.5)?, high: at(0.9)? })
}
