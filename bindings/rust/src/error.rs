// SPDX-License-Identifier: BSD-3-Clause
use crate::{ffi, text_by, text_of_library};
use std::ffi::{c_char, CString};

/// Why a call was refused: the status, a sentence, and every violated constraint when input was wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Error {
    /// As in `capsim.h`, below 0.
    pub status: i32,
    pub message: String,
    pub violations: Vec<String>,
}

pub type Result<T> = std::result::Result<T, Error>;

impl Error {
    pub(crate) fn plain(status: i32) -> Error {
        let message = text_of_library(unsafe { ffi::capsim_status_text(status) }).to_owned();
        Error { status, message, violations: Vec::new() }
    }

    /// With what the handle of the call tells of it.
    pub(crate) fn told(
        status: i32,
        text: impl Fn(*mut c_char, usize, *mut usize) -> i32,
        count: usize,
        violation: impl Fn(usize, *mut c_char, usize, *mut usize) -> i32,
    ) -> Error {
        let violations = (0..count).filter_map(|k| text_by(|t, s, n| violation(k, t, s, n))).collect();
        let message = text_by(text).filter(|said| !said.is_empty());
        Error { status, message: message.unwrap_or_else(|| Error::plain(status).message), violations }
    }
}

impl std::fmt::Display for Error {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Error {}

/// Text for C: one with a NUL in it can't be.
pub(crate) fn c_text(text: &str) -> Result<CString> {
    CString::new(text).map_err(|_| Error::plain(ffi::CAPSIM_BAD_ARGUMENT))
}
