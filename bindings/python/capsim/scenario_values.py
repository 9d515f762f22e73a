# SPDX-License-Identifier: BSD-3-Clause
# Written by bindings/generate.py from the lists of the library: change those, not this file.
"""How a scenario is written: each section with its fields, and of each field default, limits, mark and source.

Marks: READ seen in the published source; DER derived from it; MEM from memory; PROTO from an earlier prototype;
calibrated: fitted to published cohorts; choice: a convention or neutral setting. See libcapsim/doc/parameters.md.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Literal, TypedDict, Union

import numpy as np
from numpy.typing import NDArray

Number = Union[float, "np.floating[Any]"]
Whole = Union[int, "np.integer[Any]"]
ByHourValues = Union[Mapping[int, Number], Mapping[str, Number]]
Numbers = Union[Sequence[float], NDArray[Any]]
Points = Union[Sequence[Sequence[float]], NDArray[Any]]


class BagValues(TypedDict, total=False):
    """Values of `bag`; what is not said keeps its default."""

    equator_diameter_mm: Number
    """Default 10.3 mm; allowed >= 4 and <= 20. DER: emptied bag 10.53 at surgery, 10.31 a day later: Tehrani 2003."""


class OpeningValues(TypedDict, total=False):
    """Values of `opening`; what is not said keeps its default."""

    diameter_mm: Number
    """Default 5.25 mm; allowed >= 0.5 and <= 19. choice: usual aim 5 to 5.5."""
    diameters_mm: Numbers | None
    """Default null mm; allowed >= 0.5 and <= 19. choice: null: round."""
    axis_hour: Number
    """Default 12 clock hour; allowed > 0 and <= 12. choice."""
    center_mm: Numbers
    """Default [0, 0] mm; allowed >= -9 and <= 9. choice: on the pupil centre."""
    outline_mm: Points
    """Default [] mm; allowed >= -10 and <= 10. choice: none; else 8 to 2000 points."""
    measured_under: Literal["end_of_surgery", "own_zonule", "full_strength_zonule", "stress_free"]
    """Default 'end_of_surgery'; allowed 'end_of_surgery' or 'own_zonule' or 'full_strength_zonule' or 'stress_free'.
    choice: 'end_of_surgery': with zonule, lens and ring, as on day 0."""


class ThicknessKnotValues(TypedDict, total=False):
    """Values of `capsule.anterior_thickness_profile[]`; what is not said keeps its default."""

    radius_ratio: Number
    thickness_um: Number


class CapsuleValues(TypedDict, total=False):
    """Values of `capsule`; what is not said keeps its default."""

    law: Literal["neo_hookean", "fung"]
    """Default 'neo_hookean'; allowed 'neo_hookean' or 'fung'. choice."""
    modulus_kPa: Number
    """Default 830 kPa; allowed >= 1 and <= 100000. DER: plausible 250-3000, from the lens-stretcher range 25-343 mN
    per mm of diameter, PMC2689386."""
    fung_c_kPa: Number
    """Default 315 kPa; allowed >= 1 and <= 100000. DER: secant modulus 0.83 MPa at 10 %; Poisson ratio 0.47: Fisher
    1969."""
    fung_a1: Number
    """Default 2.85; allowed > 0 and <= 100. DER: as fung_c_kPa."""
    fung_a2: Number
    """Default 1.34; allowed >= -100 and <= 100. DER: as fung_c_kPa; its size stays below fung_a1."""
    anterior_thickness_um: Number
    """Default 14 um; allowed >= 0.5 and <= 100. choice: a constant between the rim and equator values of the profile
    below."""
    anterior_thickness_profile: Sequence[ThicknessKnotValues]
    """Default []. choice: none. From the pole (0) to the equator (1): 0 14.5, 0.5 15.5, 0.65 16, 0.8 12, 0.9 9, 1 7
    um; READ at 0, 0.65 and 1: Barraquer 2006."""
    posterior_thickness_um: Number
    """Default 5 um; allowed 0, or >= 0.5 and <= 100. MEM: 4-9 wet from memory; READ 3.5 at the pole."""
    compression_fraction: Number
    """Default 0.05; allowed >= 0.001 and <= 1. PROTO: severe cases depend on it (53 / 80 / 92 % loss for 0.2 / 0.05
    / 0.01 in a prototype without matrix): a material assumption, to be swept."""


class ZonuleValues(TypedDict, total=False):
    """Values of `zonule`; what is not said keeps its default."""

    stiffness_mN_per_mm: Number
    """Default 150 mN/mm; allowed >= 0 and <= 5000. DER: plausible 20-300: Michael 2009, 2012."""
    pull_mN: Number
    """Default 22.1 mN; allowed >= 0 and <= 1000. calibrated: a programmed circle opens by 5.8 % when cut free, an
    upper bound: Tan and Yuan 2025. DER range 15-110: Michael 2009, 2012."""
    strength: Number
    """Default 1; allowed >= 0 and <= 1. choice: healthy."""
    strength_by_hour: ByHourValues
    """Default {}; allowed >= 0 and <= 1. choice: no hour differs."""
    interpolation: Literal["stepwise", "smooth"]
    """Default 'stepwise'; allowed 'stepwise' or 'smooth'. choice."""
    ciliary_ring_diameter_mm: Number
    """Default 12.4 mm; allowed >= 5 and <= 25. MEM: radius 5.8-6.8."""
    attachment: Literal["equator", "split"]
    """Default 'equator'; allowed 'equator' or 'split'. choice."""
    anterior_share: Number
    """Default 0.6; allowed >= 0 and <= 1. choice: only with 'split'."""
    anterior_inset_mm: Number
    """Default 1.75 mm; allowed >= 0.1 and <= 4. DER: fibres insert up to 2 mm in front of the equator and 1 mm
    behind."""
    failure_elongation_mm: Number | None
    """Default null mm; allowed >= 0.1 and <= 20. choice: off, unvalidated; READ mean 3.8 mm: Assia 1991."""


class TensionRingValues(TypedDict, total=False):
    """Values of `tension_ring`; what is not said keeps its default."""

    free_diameter_mm: Number
    """Default 12.3 mm; allowed >= 5 and <= 25. MEM: rings of 12, 12.3, 13 and 14.5 exist."""
    wire_diameter_mm: Number
    """Default 0.2 mm; allowed >= 0.05 and <= 1. MEM."""
    modulus_kPa: Number
    """Default 3000000 kPa; allowed >= 10000 and <= 100000000. MEM: PMMA, short term."""
    creep_fraction: Number
    """Default 0.7; allowed >= 0.01 and <= 1. MEM: 0.6-0.8 after creep."""
    creep_time_days: Number
    """Default 14 day; allowed >= 0.01 and <= 10000. choice."""
    gap_hour: Number
    """Default 12 clock hour; allowed > 0 and <= 12. choice."""
    arc_degrees: Number
    """Default 290 degree; allowed >= 60 and <= 350. choice: its ends meet at 290/360 of the free diameter; 120 for a
    segment."""
    eyelet_hour: Number | None
    """Default null clock hour; allowed > 0 and <= 12. choice: no eyelet."""
    eyelet_stiffness_mN_per_mm: Number
    """Default 20 mN/mm; allowed >= 0 and <= 10000. choice."""


class LensValues(TypedDict, total=False):
    """Values of `lens`; what is not said keeps its default."""

    optic_diameter_mm: Number
    """Default 6 mm; allowed >= 3 and <= 9. choice: the usual size."""
    haptics: Whole
    """Default 2; allowed >= 2 and <= 4. choice."""
    axis_hour: Number
    """Default 3 clock hour; allowed > 0 and <= 12. choice."""
    haptic_force_mN: Number
    """Default 1 mN; allowed >= 0 and <= 100. MEM: about 1 mN each; give your own."""
    overall_diameter_mm: Number
    """Default 13 mm; allowed >= 5 and <= 25. MEM."""
    haptic_arc_degrees: Number
    """Default 40 degree; allowed >= 5 and <= 170. MEM: 30-60."""
    relaxed_fraction: Number
    """Default 0.7; allowed >= 0 and <= 1. choice."""
    relaxation_days: Number
    """Default 30 day; allowed >= 0.01 and <= 10000. choice."""
    adhesion_kPa_per_mm: Number
    """Default 0 kPa/mm; allowed >= 0 and <= 1000000. choice: off."""


class ContractionValues(TypedDict, total=False):
    """Values of `contraction`; what is not said keeps its default."""

    cells_left: Number
    """Default 1; allowed >= 0 and <= 1. choice: nothing polished."""
    cells_left_by_hour: ByHourValues
    """Default {}; allowed >= 0 and <= 1. choice: no hour differs."""
    interpolation: Literal["stepwise", "smooth"]
    """Default 'stepwise'; allowed 'stepwise' or 'smooth'. choice."""
    chronic_signal: Number
    """Default 0; allowed >= 0 and <= 1. choice: the stimulus fades; 0.2 makes severe cases."""
    signal_days: Number
    """Default 25.8 day; allowed >= 0.01 and <= 10000. calibrated: time course of Tehrani 2003: 53 % at 1 month, 95 %
    at 3."""
    regrowth_per_day: Number
    """Default 0.05 1/day; allowed >= 0 and <= 10. PROTO."""
    activation_per_day: Number
    """Default 0.1 1/day; allowed >= 0 and <= 10. PROTO."""
    deactivation_per_day: Number
    """Default 0.0442 1/day; allowed >= 0 and <= 10. calibrated: as signal_days."""
    tissue_per_day: Number
    """Default 1/15 1/day; allowed >= 0 and <= 10. PROTO."""
    remodelling_days: Number
    """Default 20 day; allowed >= 0.01 and <= 10000. PROTO."""
    laying_stretch: Number
    """Default 1.2; allowed >= 1 and <= 2. PROTO."""
    packing_limit: Number
    """Default 0.3; allowed >= 0.05 and <= 0.95. choice."""
    fibre_modulus_kPa: Number
    """Default 255 kPa; allowed >= 0 and <= 100000. calibrated: median eye of five cohorts, see clinical.md; between
    eyes a factor of 3.4 either way."""
    matrix_modulus_kPa: Number
    """Default 20 kPa; allowed >= 0 and <= 100000. choice: no source; to be calibrated. With compression_fraction it
    sets how far a severe case goes."""
    tissue_thickness_mm: Number
    """Default 0.05 mm; allowed >= 0 and <= 0.5. PROTO."""
    hoop_weight: Number
    """Default 0.85; allowed >= 0 and <= 10. PROTO: equal weights would open the hole under a firm zonule."""
    diagonal_weight: Number
    """Default 0.15; allowed >= 0 and <= 10. PROTO."""
    radial_weight: Number
    """Default 0; allowed >= 0 and <= 10. PROTO."""
    band_width_mm: Number | None
    """Default 0.2 mm; allowed >= 0.05 and <= 100. calibrated: the widest with which Cochener 1999 would see no link
    with the initial area. null: no decay."""
    edge_width_mm: Number
    """Default 0 mm; allowed >= 0 and <= 1. choice: 0: sharp edge on a mesh line. 0.05, as in a prototype, raises the
    default eye's loss from 4.3 to 4.5 %: a few cells outside the edge regrow."""
    contact_diameter_mm: Number | None
    """Default null mm; allowed >= 0.5 and <= 20. choice: null: the optic's diameter, 6 without a lens."""
    cells_beyond_contact: Number
    """Default 0; allowed >= 0 and <= 1. choice: 0: the tissue of the rim ends at the edge of the contact zone; 1:
    its band goes on."""
    unloaded_deactivation_per_day: Number
    """Default 0 1/day; allowed >= 0 and <= 10. choice: off."""
    law: Literal["fibre_remodelling", "active_lock_in"]
    """Default 'fibre_remodelling'; allowed 'fibre_remodelling' or 'active_lock_in'. choice: the defaults are those
    of the first; populations have values for both, see theory.md, sections 3 and 13."""
    active_tension_mN_per_mm: Number
    """Default 14 mN/mm; allowed >= 0 and <= 1000. PROTO: active lock-in only, as the next three. Calibrated: 2.72
    with the rates and the locked modulus that the populations set under this law."""
    active_radial_share: Number
    """Default 0; allowed >= 0 and <= 10. choice: equal pulls would open the hole under a firm zonule."""
    lock_in_per_day: Number
    """Default 0.1 1/day; allowed >= 0 and <= 10. PROTO."""
    locked_modulus_kPa: Number
    """Default 10000 kPa; allowed >= 0 and <= 1000000. PROTO: no measurement; softer tissue can't hold what was
    contracted against capsule and zonule. The populations set 30000."""


class BagTissueValues(TypedDict, total=False):
    """Values of `bag_tissue`; what is not said keeps its default."""

    fibre_modulus_kPa: Number
    """Default 0 kPa; allowed >= 0 and <= 100000. choice: 0: no tissue there."""
    active_tension_mN_per_mm: Number
    """Default 0 mN/mm; allowed >= 0 and <= 1000. choice: 0: no tissue there."""
    tissue_thickness_mm: Number
    """Default 0.05 mm; allowed >= 0.001 and <= 0.5. choice: as under the rim."""
    hoop_weight: Number
    """Default 0.6; allowed >= 0 and <= 10. choice: nearly isotropic."""
    diagonal_weight: Number
    """Default 0; allowed >= 0 and <= 10. choice."""
    radial_weight: Number
    """Default 0.35; allowed >= 0 and <= 10. choice."""
    cells_left: Number
    """Default 1; allowed >= 0 and <= 1. choice: cells cover the leaf."""
    cells_left_by_hour: ByHourValues
    """Default {}; allowed >= 0 and <= 1. choice: no hour differs."""
    clear_zone_mm: Number
    """Default 0.9 mm; allowed >= 0 and <= 5. choice: a ring keeps the leaves apart at the equator."""
    bond_kPa_per_mm: Number
    """Default 0 kPa/mm; allowed >= 0 and <= 100000. choice: 0: leaves share the equator only."""
    haptic_bond_mN_per_mm: Number
    """Default 0 mN/mm; allowed >= 0 and <= 10000. choice: 0: haptics slide."""
    inner_diameter_mm: Number | None
    """Default null mm; allowed >= 0.5 and <= 20. choice: null: the optic's; no tissue without a lens."""


class MeshValues(TypedDict, total=False):
    """Values of `mesh`; what is not said keeps its default."""

    around: Whole
    """Default 48; allowed >= 12 and <= 384. PROTO: a multiple of 4; 0.05 points of area loss from the limit."""
    radial: Whole
    """Default 6; allowed >= 2 and <= 64. PROTO."""
    order: Whole
    """Default 2; allowed >= 1 and <= 2. PROTO."""
    tip_layers: Whole
    """Default 5; allowed >= 1 and <= 16. choice: for each length of cut; on 12 x 2 elements 2 in place of 5 move
    what cuts give back by 1 % (longest) to 7 % (shortest)."""
    level: Literal["coarse", "standard", "fine"]


class NumericsValues(TypedDict, total=False):
    """Values of `numerics`; what is not said keeps its default."""

    time_tolerance: Number
    """Default 0.0001; allowed >= 1e-09 and <= 0.05. PROTO: 90-160 evaluations for a year."""
    force_tolerance: Number
    """Default 0.000001; allowed >= 1e-11 and <= 0.0001. choice."""
    max_step_days: Number
    """Default 30 day; allowed >= 0.001 and <= 100. PROTO: explicit steps of 30 days return a smooth, wrong answer."""
    max_steps: Whole
    """Default 5000; allowed >= 1 and <= 10000000. choice."""
    max_work: Number
    """Default 5000; allowed >= 100 and <= 1000000000. choice: in factorizations, an evaluation of all forces as an
    eighth; a tenth for one equilibrium."""


class RelaxingCutsValues(TypedDict, total=False):
    """Values of `events[].relaxing_cuts`; what is not said keeps its default."""

    hours: Numbers
    length_mm: Number
    """Default 0.75 mm; allowed >= 0.05 and <= 8. choice."""


class ZonuleDamageValues(TypedDict, total=False):
    """Values of `events[].zonule_damage`; what is not said keeps its default."""

    strength_by_hour: ByHourValues


class ContractionChangeValues(TypedDict, total=False):
    """Values of `events[].contraction_change`; what is not said keeps its default."""

    chronic_signal: Number | None
    """Default null; allowed >= 0 and <= 1. choice: null: stays, as in the rows below."""
    signal_days: Number | None
    """Default null day; allowed >= 0.01 and <= 10000. choice: counted from surgery."""
    regrowth_per_day: Number | None
    """Default null 1/day; allowed >= 0 and <= 10. choice."""
    activation_per_day: Number | None
    """Default null 1/day; allowed >= 0 and <= 10. choice."""
    deactivation_per_day: Number | None
    """Default null 1/day; allowed >= 0 and <= 10. choice."""
    tissue_per_day: Number | None
    """Default null 1/day; allowed >= 0 and <= 10. choice."""
    remodelling_days: Number | None
    """Default null day; allowed >= 0.01 and <= 10000. choice."""
    laying_stretch: Number | None
    """Default null; allowed >= 1 and <= 2. choice."""
    unloaded_deactivation_per_day: Number | None
    """Default null 1/day; allowed >= 0 and <= 10. choice."""
    active_tension_mN_per_mm: Number | None
    """Default null mN/mm; allowed >= 0 and <= 1000. choice: under the rim; tissue outside the optic keeps its own."""
    active_radial_share: Number | None
    """Default null; allowed >= 0 and <= 10. choice."""
    lock_in_per_day: Number | None
    """Default null 1/day; allowed >= 0 and <= 10. choice."""


class EventValues(TypedDict, total=False):
    """Values of `events[]`; what is not said keeps its default."""

    day: Number
    relaxing_cuts: RelaxingCutsValues
    zonule_damage: ZonuleDamageValues
    tension_ring: TensionRingValues
    contraction_change: ContractionChangeValues


FIELD_FACTS = {
    "name": "Default 'unnamed'; allowed at most 1000 bytes of UTF-8. choice.",
    "eye": (
        "Default null; allowed 'right' or 'left', or null. choice: never assumed; needed wherever nasal or temporal is "
        "printed."
    ),
    "duration_days": (
        "Default 365 day; allowed >= 0 and <= 10000. choice: one year; contraction is reported at 1 to 12 months."
    ),
    "output_every_days": "Default 7 day; allowed >= 0.01 and <= 10000. choice: first and last day are always kept.",
    "bag.equator_diameter_mm": (
        "Default 10.3 mm; allowed >= 4 and <= 20. DER: emptied bag 10.53 at surgery, 10.31 a day later: Tehrani 2003."
    ),
    "opening.diameter_mm": "Default 5.25 mm; allowed >= 0.5 and <= 19. choice: usual aim 5 to 5.5.",
    "opening.diameters_mm": "Default null mm; allowed >= 0.5 and <= 19. choice: null: round.",
    "opening.axis_hour": "Default 12 clock hour; allowed > 0 and <= 12. choice.",
    "opening.center_mm": "Default [0, 0] mm; allowed >= -9 and <= 9. choice: on the pupil centre.",
    "opening.outline_mm": "Default [] mm; allowed >= -10 and <= 10. choice: none; else 8 to 2000 points.",
    "opening.measured_under": (
        "Default 'end_of_surgery'; allowed 'end_of_surgery' or 'own_zonule' or 'full_strength_zonule' or "
        "'stress_free'. choice: 'end_of_surgery': with zonule, lens and ring, as on day 0."
    ),
    "capsule.law": "Default 'neo_hookean'; allowed 'neo_hookean' or 'fung'. choice.",
    "capsule.modulus_kPa": (
        "Default 830 kPa; allowed >= 1 and <= 100000. DER: plausible 250-3000, from the lens-stretcher range 25-343 mN "
        "per mm of diameter, PMC2689386."
    ),
    "capsule.fung_c_kPa": (
        "Default 315 kPa; allowed >= 1 and <= 100000. DER: secant modulus 0.83 MPa at 10 %; Poisson ratio 0.47: Fisher "
        "1969."
    ),
    "capsule.fung_a1": "Default 2.85; allowed > 0 and <= 100. DER: as fung_c_kPa.",
    "capsule.fung_a2": "Default 1.34; allowed >= -100 and <= 100. DER: as fung_c_kPa; its size stays below fung_a1.",
    "capsule.anterior_thickness_um": (
        "Default 14 um; allowed >= 0.5 and <= 100. choice: a constant between the rim and equator values of the "
        "profile below."
    ),
    "capsule.anterior_thickness_profile": (
        "Default []. choice: none. From the pole (0) to the equator (1): 0 14.5, 0.5 15.5, 0.65 16, 0.8 12, 0.9 9, 1 7 "
        "um; READ at 0, 0.65 and 1: Barraquer 2006."
    ),
    "capsule.posterior_thickness_um": (
        "Default 5 um; allowed 0, or >= 0.5 and <= 100. MEM: 4-9 wet from memory; READ 3.5 at the pole."
    ),
    "capsule.compression_fraction": (
        "Default 0.05; allowed >= 0.001 and <= 1. PROTO: severe cases depend on it (53 / 80 / 92 % loss for 0.2 / 0.05 "
        "/ 0.01 in a prototype without matrix): a material assumption, to be swept."
    ),
    "zonule.stiffness_mN_per_mm": (
        "Default 150 mN/mm; allowed >= 0 and <= 5000. DER: plausible 20-300: Michael 2009, 2012."
    ),
    "zonule.pull_mN": (
        "Default 22.1 mN; allowed >= 0 and <= 1000. calibrated: a programmed circle opens by 5.8 % when cut free, an "
        "upper bound: Tan and Yuan 2025. DER range 15-110: Michael 2009, 2012."
    ),
    "zonule.strength": "Default 1; allowed >= 0 and <= 1. choice: healthy.",
    "zonule.strength_by_hour": "Default {}; allowed >= 0 and <= 1. choice: no hour differs.",
    "zonule.interpolation": "Default 'stepwise'; allowed 'stepwise' or 'smooth'. choice.",
    "zonule.ciliary_ring_diameter_mm": "Default 12.4 mm; allowed >= 5 and <= 25. MEM: radius 5.8-6.8.",
    "zonule.attachment": "Default 'equator'; allowed 'equator' or 'split'. choice.",
    "zonule.anterior_share": "Default 0.6; allowed >= 0 and <= 1. choice: only with 'split'.",
    "zonule.anterior_inset_mm": (
        "Default 1.75 mm; allowed >= 0.1 and <= 4. DER: fibres insert up to 2 mm in front of the equator and 1 mm "
        "behind."
    ),
    "zonule.failure_elongation_mm": (
        "Default null mm; allowed >= 0.1 and <= 20. choice: off, unvalidated; READ mean 3.8 mm: Assia 1991."
    ),
    "tension_ring": "Default null. choice: no ring.",
    "tension_ring.free_diameter_mm": (
        "Default 12.3 mm; allowed >= 5 and <= 25. MEM: rings of 12, 12.3, 13 and 14.5 exist."
    ),
    "tension_ring.wire_diameter_mm": "Default 0.2 mm; allowed >= 0.05 and <= 1. MEM.",
    "tension_ring.modulus_kPa": "Default 3000000 kPa; allowed >= 10000 and <= 100000000. MEM: PMMA, short term.",
    "tension_ring.creep_fraction": "Default 0.7; allowed >= 0.01 and <= 1. MEM: 0.6-0.8 after creep.",
    "tension_ring.creep_time_days": "Default 14 day; allowed >= 0.01 and <= 10000. choice.",
    "tension_ring.gap_hour": "Default 12 clock hour; allowed > 0 and <= 12. choice.",
    "tension_ring.arc_degrees": (
        "Default 290 degree; allowed >= 60 and <= 350. choice: its ends meet at 290/360 of the free diameter; 120 for "
        "a segment."
    ),
    "tension_ring.eyelet_hour": "Default null clock hour; allowed > 0 and <= 12. choice: no eyelet.",
    "tension_ring.eyelet_stiffness_mN_per_mm": "Default 20 mN/mm; allowed >= 0 and <= 10000. choice.",
    "lens.optic_diameter_mm": "Default 6 mm; allowed >= 3 and <= 9. choice: the usual size.",
    "lens.haptics": "Default 2; allowed >= 2 and <= 4. choice.",
    "lens.axis_hour": "Default 3 clock hour; allowed > 0 and <= 12. choice.",
    "lens.haptic_force_mN": "Default 1 mN; allowed >= 0 and <= 100. MEM: about 1 mN each; give your own.",
    "lens.overall_diameter_mm": "Default 13 mm; allowed >= 5 and <= 25. MEM.",
    "lens.haptic_arc_degrees": "Default 40 degree; allowed >= 5 and <= 170. MEM: 30-60.",
    "lens.relaxed_fraction": "Default 0.7; allowed >= 0 and <= 1. choice.",
    "lens.relaxation_days": "Default 30 day; allowed >= 0.01 and <= 10000. choice.",
    "lens.adhesion_kPa_per_mm": "Default 0 kPa/mm; allowed >= 0 and <= 1000000. choice: off.",
    "contraction.cells_left": "Default 1; allowed >= 0 and <= 1. choice: nothing polished.",
    "contraction.cells_left_by_hour": "Default {}; allowed >= 0 and <= 1. choice: no hour differs.",
    "contraction.interpolation": "Default 'stepwise'; allowed 'stepwise' or 'smooth'. choice.",
    "contraction.chronic_signal": (
        "Default 0; allowed >= 0 and <= 1. choice: the stimulus fades; 0.2 makes severe cases."
    ),
    "contraction.signal_days": (
        "Default 25.8 day; allowed >= 0.01 and <= 10000. calibrated: time course of Tehrani 2003: 53 % at 1 month, 95 "
        "% at 3."
    ),
    "contraction.regrowth_per_day": "Default 0.05 1/day; allowed >= 0 and <= 10. PROTO.",
    "contraction.activation_per_day": "Default 0.1 1/day; allowed >= 0 and <= 10. PROTO.",
    "contraction.deactivation_per_day": "Default 0.0442 1/day; allowed >= 0 and <= 10. calibrated: as signal_days.",
    "contraction.tissue_per_day": "Default 1/15 1/day; allowed >= 0 and <= 10. PROTO.",
    "contraction.remodelling_days": "Default 20 day; allowed >= 0.01 and <= 10000. PROTO.",
    "contraction.laying_stretch": "Default 1.2; allowed >= 1 and <= 2. PROTO.",
    "contraction.packing_limit": "Default 0.3; allowed >= 0.05 and <= 0.95. choice.",
    "contraction.fibre_modulus_kPa": (
        "Default 255 kPa; allowed >= 0 and <= 100000. calibrated: median eye of five cohorts, see clinical.md; between "
        "eyes a factor of 3.4 either way."
    ),
    "contraction.matrix_modulus_kPa": (
        "Default 20 kPa; allowed >= 0 and <= 100000. choice: no source; to be calibrated. With compression_fraction it "
        "sets how far a severe case goes."
    ),
    "contraction.tissue_thickness_mm": "Default 0.05 mm; allowed >= 0 and <= 0.5. PROTO.",
    "contraction.hoop_weight": (
        "Default 0.85; allowed >= 0 and <= 10. PROTO: equal weights would open the hole under a firm zonule."
    ),
    "contraction.diagonal_weight": "Default 0.15; allowed >= 0 and <= 10. PROTO.",
    "contraction.radial_weight": "Default 0; allowed >= 0 and <= 10. PROTO.",
    "contraction.band_width_mm": (
        "Default 0.2 mm; allowed >= 0.05 and <= 100. calibrated: the widest with which Cochener 1999 would see no link "
        "with the initial area. null: no decay."
    ),
    "contraction.edge_width_mm": (
        "Default 0 mm; allowed >= 0 and <= 1. choice: 0: sharp edge on a mesh line. 0.05, as in a prototype, raises "
        "the default eye's loss from 4.3 to 4.5 %: a few cells outside the edge regrow."
    ),
    "contraction.contact_diameter_mm": (
        "Default null mm; allowed >= 0.5 and <= 20. choice: null: the optic's diameter, 6 without a lens."
    ),
    "contraction.cells_beyond_contact": (
        "Default 0; allowed >= 0 and <= 1. choice: 0: the tissue of the rim ends at the edge of the contact zone; 1: "
        "its band goes on."
    ),
    "contraction.unloaded_deactivation_per_day": "Default 0 1/day; allowed >= 0 and <= 10. choice: off.",
    "contraction.law": (
        "Default 'fibre_remodelling'; allowed 'fibre_remodelling' or 'active_lock_in'. choice: the defaults are those "
        "of the first; populations have values for both, see theory.md, sections 3 and 13."
    ),
    "contraction.active_tension_mN_per_mm": (
        "Default 14 mN/mm; allowed >= 0 and <= 1000. PROTO: active lock-in only, as the next three. Calibrated: 2.72 "
        "with the rates and the locked modulus that the populations set under this law."
    ),
    "contraction.active_radial_share": (
        "Default 0; allowed >= 0 and <= 10. choice: equal pulls would open the hole under a firm zonule."
    ),
    "contraction.lock_in_per_day": "Default 0.1 1/day; allowed >= 0 and <= 10. PROTO.",
    "contraction.locked_modulus_kPa": (
        "Default 10000 kPa; allowed >= 0 and <= 1000000. PROTO: no measurement; softer tissue can't hold what was "
        "contracted against capsule and zonule. The populations set 30000."
    ),
    "bag_tissue.fibre_modulus_kPa": "Default 0 kPa; allowed >= 0 and <= 100000. choice: 0: no tissue there.",
    "bag_tissue.active_tension_mN_per_mm": "Default 0 mN/mm; allowed >= 0 and <= 1000. choice: 0: no tissue there.",
    "bag_tissue.tissue_thickness_mm": "Default 0.05 mm; allowed >= 0.001 and <= 0.5. choice: as under the rim.",
    "bag_tissue.hoop_weight": "Default 0.6; allowed >= 0 and <= 10. choice: nearly isotropic.",
    "bag_tissue.diagonal_weight": "Default 0; allowed >= 0 and <= 10. choice.",
    "bag_tissue.radial_weight": "Default 0.35; allowed >= 0 and <= 10. choice.",
    "bag_tissue.cells_left": "Default 1; allowed >= 0 and <= 1. choice: cells cover the leaf.",
    "bag_tissue.cells_left_by_hour": "Default {}; allowed >= 0 and <= 1. choice: no hour differs.",
    "bag_tissue.clear_zone_mm": (
        "Default 0.9 mm; allowed >= 0 and <= 5. choice: a ring keeps the leaves apart at the equator."
    ),
    "bag_tissue.bond_kPa_per_mm": (
        "Default 0 kPa/mm; allowed >= 0 and <= 100000. choice: 0: leaves share the equator only."
    ),
    "bag_tissue.haptic_bond_mN_per_mm": "Default 0 mN/mm; allowed >= 0 and <= 10000. choice: 0: haptics slide.",
    "bag_tissue.inner_diameter_mm": (
        "Default null mm; allowed >= 0.5 and <= 20. choice: null: the optic's; no tissue without a lens."
    ),
    "events": "Default []. choice: at most 1000.",
    "events[].relaxing_cuts.length_mm": "Default 0.75 mm; allowed >= 0.05 and <= 8. choice.",
    "events[].contraction_change.chronic_signal": (
        "Default null; allowed >= 0 and <= 1. choice: null: stays, as in the rows below."
    ),
    "events[].contraction_change.signal_days": (
        "Default null day; allowed >= 0.01 and <= 10000. choice: counted from surgery."
    ),
    "events[].contraction_change.regrowth_per_day": "Default null 1/day; allowed >= 0 and <= 10. choice.",
    "events[].contraction_change.activation_per_day": "Default null 1/day; allowed >= 0 and <= 10. choice.",
    "events[].contraction_change.deactivation_per_day": "Default null 1/day; allowed >= 0 and <= 10. choice.",
    "events[].contraction_change.tissue_per_day": "Default null 1/day; allowed >= 0 and <= 10. choice.",
    "events[].contraction_change.remodelling_days": "Default null day; allowed >= 0.01 and <= 10000. choice.",
    "events[].contraction_change.laying_stretch": "Default null; allowed >= 1 and <= 2. choice.",
    "events[].contraction_change.unloaded_deactivation_per_day": "Default null 1/day; allowed >= 0 and <= 10. choice.",
    "events[].contraction_change.active_tension_mN_per_mm": (
        "Default null mN/mm; allowed >= 0 and <= 1000. choice: under the rim; tissue outside the optic keeps its own."
    ),
    "events[].contraction_change.active_radial_share": "Default null; allowed >= 0 and <= 10. choice.",
    "events[].contraction_change.lock_in_per_day": "Default null 1/day; allowed >= 0 and <= 10. choice.",
    "mesh.around": (
        "Default 48; allowed >= 12 and <= 384. PROTO: a multiple of 4; 0.05 points of area loss from the limit."
    ),
    "mesh.radial": "Default 6; allowed >= 2 and <= 64. PROTO.",
    "mesh.order": "Default 2; allowed >= 1 and <= 2. PROTO.",
    "mesh.tip_layers": (
        "Default 5; allowed >= 1 and <= 16. choice: for each length of cut; on 12 x 2 elements 2 in place of 5 move "
        "what cuts give back by 1 % (longest) to 7 % (shortest)."
    ),
    "numerics.time_tolerance": "Default 0.0001; allowed >= 1e-09 and <= 0.05. PROTO: 90-160 evaluations for a year.",
    "numerics.force_tolerance": "Default 0.000001; allowed >= 1e-11 and <= 0.0001. choice.",
    "numerics.max_step_days": (
        "Default 30 day; allowed >= 0.001 and <= 100. PROTO: explicit steps of 30 days return a smooth, wrong answer."
    ),
    "numerics.max_steps": "Default 5000; allowed >= 1 and <= 10000000. choice.",
    "numerics.max_work": (
        "Default 5000; allowed >= 100 and <= 1000000000. choice: in factorizations, an evaluation of all forces as an "
        "eighth; a tenth for one equilibrium."
    ),
}
"""Default, limits, mark and source of every field, by its path."""
