# SPDX-License-Identifier: BSD-3-Clause
"""Recipe for Conan 2, from the sources beside it: `conan create libcapsim/packaging/conan`."""

import os

from conan import ConanFile
from conan.tools.build import check_min_cppstd
from conan.tools.cmake import CMake, CMakeDeps, CMakeToolchain
from conan.tools.files import copy, load


class Capsim(ConanFile):
    name = "capsim"
    license = "BSD-3-Clause"
    description = "Contraction of the lens capsule opening after cataract surgery, for research and teaching"
    package_type = "library"
    settings = "os", "arch", "compiler", "build_type"
    options = {"shared": [True, False], "with_hdf5": [True, False]}
    default_options = {"shared": False, "with_hdf5": True}

    def set_version(self):
        project = load(self, os.path.join(self.recipe_folder, "..", "..", "..", "CMakeLists.txt"))
        self.version = project.split("project(capsim VERSION ")[1].split()[0]

    def export_sources(self):
        root = os.path.join(self.recipe_folder, "..", "..", "..")
        for pattern in ("CMakeLists.txt", "LICENSE", "libcapsim/*", "bindings/c/*", "examples/embedding/*"):
            copy(self, pattern, root, self.export_sources_folder)

    def requirements(self):
        # Headers that the library is built with; whoever links it needs none of them.
        self.requires("eigen/[>=3.4 <4]", visible=False)
        self.requires("boost/[>=1.74 <2]", visible=False, options={"header_only": True})
        self.requires("nlohmann_json/[>=3.11 <4]", visible=False)
        if self.options.with_hdf5:
            self.requires("hdf5/[>=1.10 <2]")

    def validate(self):
        check_min_cppstd(self, 20)

    def layout(self):
        self.folders.build = "build"
        self.folders.generators = "build/conan"

    def generate(self):
        CMakeDeps(self).generate()
        toolchain = CMakeToolchain(self)
        toolchain.cache_variables["BUILD_SHARED_LIBS"] = bool(self.options.shared)
        toolchain.cache_variables["CAPSIM_RESULTS_FILE"] = bool(self.options.with_hdf5)
        for part in ("TESTS", "PYTHON", "EXAMPLES", "BENCHMARKS"):
            toolchain.cache_variables[f"CAPSIM_BUILD_{part}"] = False
        toolchain.generate()

    def build(self):
        cmake = CMake(self)
        cmake.configure()
        cmake.build()

    def package(self):
        copy(self, "LICENSE", self.source_folder, os.path.join(self.package_folder, "licenses"))
        CMake(self).install()

    def package_info(self):
        # The project installs its own CMake package, with targets for C++, C and C linked statically.
        self.cpp_info.set_property("cmake_find_mode", "none")
        self.cpp_info.builddirs.append(os.path.join("lib", "cmake", "capsim"))
