// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  All of libcapsim, room by room. A room uses what stands above it and itself, never what stands below.
///
/// In short.  capsim::Scenario eye;                            // plain values, units in their names
///            eye.opening.diameter_mm = 5;
///            const capsim::History run = capsim::simulate(eye);
///            const double loss = capsim::outcomes(run)["area_loss_percent"];
///
/// A program that cares for its compile time includes the headers it needs instead. The private files of a room are
/// in `libcapsim/src/<room>`, and its README says what lives there.

// clang-format off
// from the library's list: public headers; libcapsim/cmake/list_files.py puts new ones here

// text: errors with words in them, and the version.
#include "capsim/error.hpp"
#include "capsim/version.hpp"

// scenario: one eye, one operation, one follow-up, as plain values with units, in the frame of the clock face.
#include "capsim/frame.hpp"
#include "capsim/scenario.hpp"
#include "capsim/scenario_schema.hpp"

// geometry: the mesh of the two leaves, and the opening as a shape.
#include "capsim/mesh.hpp"
#include "capsim/opening.hpp"

// parts: what stores energy in the eye, and what changes with time.
#include "capsim/kinks.hpp"
#include "capsim/part.hpp"
#include "capsim/part_check.hpp"
#include "capsim/capsule.hpp"
#include "capsim/fibrous_tissue.hpp"
#include "capsim/contraction_law.hpp"
#include "capsim/fibre_remodelling.hpp"
#include "capsim/active_lock_in.hpp"
#include "capsim/zonule.hpp"
#include "capsim/backing.hpp"
#include "capsim/tension_ring.hpp"
#include "capsim/leaf_bond.hpp"
#include "capsim/lens.hpp"
#include "capsim/cuts.hpp"

// solve: equilibrium, steps in time, and how far from runaway.
#include "capsim/equilibrium.hpp"
#include "capsim/runaway.hpp"

// run: from a scenario to a history, its outcomes, populations of eyes, and studies of plans.
#include "capsim/observables.hpp"
#include "capsim/diagnostics.hpp"
#include "capsim/model_library.hpp"
#include "capsim/model.hpp"
#include "capsim/leaf_state.hpp"
#include "capsim/history.hpp"
#include "capsim/simulation.hpp"
#include "capsim/outcomes.hpp"
#include "capsim/sensitivities.hpp"
#include "capsim/population.hpp"
#include "capsim/study.hpp"
#include "capsim/study_visits.hpp"
#include "capsim/study_cuts.hpp"
#include "capsim/relief_range.hpp"

// files: histories on disk. Without HDF5 CAPSIM_HAS_RESULTS_FILE is 0, and these functions are not declared.
#include "capsim/results_file.hpp"

// end of the list
// clang-format on
