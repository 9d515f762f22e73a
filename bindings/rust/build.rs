// SPDX-License-Identifier: BSD-3-Clause
//! Links the shared C library. CAPSIM_LIB_DIR names the folder that holds it; without it the system's places are tried.
fn main() {
    println!("cargo:rerun-if-env-changed=CAPSIM_LIB_DIR");
    if let Ok(folder) = std::env::var("CAPSIM_LIB_DIR") {
        println!("cargo:rustc-link-search=native={folder}");
        println!("cargo:rustc-link-arg=-Wl,-rpath,{folder}");
    }
    println!("cargo:rustc-link-lib=dylib=capsim_c");
}
