# SPDX-License-Identifier: BSD-3-Clause
"""Every language gives the same number, to the last of its 17 digits: C++, Python, C, Rust, Java, Python by ctypes.

    same_digits.py <libcapsim_c.so> <planner in C> <source folder> <folder for what is compiled> [cargo] [javac]

The number of the C++ library comes through the Python package, whose bits are compared with a C++ program elsewhere. The
browser package is compared with it in the web stage. Exit 77 when the package is not there.
"""

import os
import subprocess
import sys
from pathlib import Path

try:
    import capsim
except ImportError as error:
    print(f"skipped: the Python package is not built ({error})")
    sys.exit(77)

EYE = {
    "format": "capsim-scenario",
    "version": 1,
    "name": "invented",
    "duration_days": 40,
    "output_every_days": 20,
    "mesh": {"level": "coarse"},
}


def said(*command, **more):
    done = subprocess.run(list(map(str, command)), capture_output=True, text=True, timeout=500, **more)
    if done.returncode != 0:
        sys.exit(f"{command[0]}: {done.stdout[-2000:]}\n{done.stderr[-2000:]}")
    return done.stdout


def main(library, planner, sources, work, cargo="", javac=""):
    sources, work = Path(sources), Path(work)
    wanted = capsim.outcomes(capsim.simulate(EYE))["opening_area_mm2"]
    print(f"C++ by way of the package: {wanted:.17g} mm2")
    got = {"C": said(planner, "--digits")}
    got["Python by ctypes"] = said(sys.executable, sources / "examples/embedding/planner.py", library, "--digits")
    if javac:
        java = [Path(javac).parent / "java", "--add-modules", "jdk.incubator.foreign"]
        got["Java"] = said(
            *java, "--enable-native-access=ALL-UNNAMED", "-cp", work / "java", "Planner", library, "--digits"
        )
    if cargo:  # compares by itself
        env = {**os.environ, "CAPSIM_LIB_DIR": str(Path(library).parent), "CARGO_TARGET_DIR": str(work / "rust")}
        test = "run_has_the_digits_of_every_other_language"
        manifest = ["--manifest-path", sources / "bindings/rust/Cargo.toml"]
        told = said(
            cargo, "test", "--offline", *manifest, test, env={**env, "CAPSIM_EXPECTED_AREA_MM2": f"{wanted:.17g}"}
        )
        if "1 passed" not in told:
            sys.exit(f"Rust has compared nothing:\n{told}")
        print("Rust: the same")
    for language, text in got.items():
        print(f"{language}: {text.strip()}")
        if float(text) != wanted:
            sys.exit(f"{language} gives {text.strip()}, and {wanted:.17g} is wanted")
    print(f"not here: {', '.join(name for name, tool in (('Rust', cargo), ('Java', javac)) if not tool) or 'nothing'}")


main(*sys.argv[1:])
