// SPDX-License-Identifier: BSD-3-Clause
//! How the opening of the lens capsule contracts after cataract surgery.
//!
//! **For research and teaching, not for treating a patient.** Decisions belong to the licensed clinician and to local
//! protocols; show [`History::cautions`] wherever a result is shown.
//!
//! ```no_run
//! let mut eye = capsim::Scenario::new();
//! eye.set_number("opening.diameter_mm", 5.0)?;
//! let run = capsim::simulate(&eye, None)?;
//! println!("{} % lost", run.outcome("area_loss_percent").unwrap());
//! # Ok::<(), capsim::Error>(())
//! ```
pub mod ffi;

mod error;
mod history;
mod population;
mod scenario;
mod simulation;

pub use error::{Error, Result};
pub use history::{simulate, simulate_all, History};
pub use population::{band, population_names, Band, Population};
pub use scenario::Scenario;
pub use simulation::{Advance, CancelFlag, RunawayMargin, Simulation};

use std::ffi::{c_char, CStr};

/// "major.minor.patch" of the library that is linked.
pub fn version() -> &'static str {
    text_of_library(unsafe { ffi::capsim_version() })
}

/// The caution to show with every result.
pub fn research_caution() -> &'static str {
    text_of_library(unsafe { ffi::capsim_research_caution() })
}

/// A text of the library itself, which never changes.
fn text_of_library(text: *const c_char) -> &'static str {
    unsafe { CStr::from_ptr(text) }.to_str().unwrap_or("")
}

/// A text by the rule of sizes: ask, make room, fetch.
fn text_by(fetch: impl Fn(*mut c_char, usize, *mut usize) -> i32) -> Option<String> {
    let mut needed = 0;
    if fetch(std::ptr::null_mut(), 0, &mut needed) != ffi::CAPSIM_OK {
        return None;
    }
    let mut bytes = vec![0u8; needed];
    if fetch(bytes.as_mut_ptr().cast(), needed, std::ptr::null_mut()) != ffi::CAPSIM_OK {
        return None;
    }
    bytes.pop();
    String::from_utf8(bytes).ok()
}

fn numbers_by(fetch: impl Fn(*mut f64, usize, *mut usize) -> i32) -> Option<Vec<f64>> {
    let mut needed = 0;
    if fetch(std::ptr::null_mut(), 0, &mut needed) != ffi::CAPSIM_OK {
        return None;
    }
    let mut values = vec![0.0; needed];
    (fetch(values.as_mut_ptr(), needed, std::ptr::null_mut()) == ffi::CAPSIM_OK).then_some(values)
}
