# SPDX-License-Identifier: BSD-3-Clause
"""The groups of values in a scenario, with the names and units of the contract.

Defaults, allowed ranges and where each number comes from: libcapsim/doc/parameters.md.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from .complete_values import HEADER, checked
from .value_access import ByHour, Items, Part, Section, value


class Bag(Section):
    """The capsular bag."""

    __slots__ = ()
    _place = "bag"
    equator_diameter_mm: float = value("Diameter of the bag's equator in situ, under a full-strength zonule [mm].")


class Opening(Section):
    """The opening in the front leaf: an outline if there is one, else an ellipse, else a circle."""

    __slots__ = ()
    _place = "opening"
    diameter_mm: float = value("Diameter of a round opening [mm].")
    diameters_mm: Part[list[float] | None] = Part("Elliptic opening: diameter along `axis_hour` and square to it [mm].")
    axis_hour: float = value("Meridian of the first diameter of an ellipse [clock hour].")
    center_mm: Part[list[float]] = Part("Centre from the pupil centre, x to the viewer's right, y up [mm].")
    outline_mm: Part[list[list[float]]] = Part("Traced rim, at least 8 points [mm].")
    measured_under: str = value(
        "In which state it is meant: end_of_surgery, own_zonule, full_strength_zonule or stress_free."
    )


class ThicknessKnot(Section):
    """One knot of the thickness profile of the front leaf."""

    __slots__ = ()
    _facts_at = "capsule.anterior_thickness_profile[]"
    radius_ratio: float = value("Distance from the pole over equator radius, 0..1.")
    thickness_um: float = value("Thickness there [um].")


class Capsule(Section):
    """The capsule's material and thickness."""

    __slots__ = ()
    _place = "capsule"
    law: str = value("neo_hookean or fung.")
    modulus_kPa: float = value("Young's modulus of the neo-Hookean law [kPa].")
    fung_c_kPa: float = value("Stiffness c of the exponential law [kPa].")
    fung_a1: float = value("Coefficient a1 of the exponential law.")
    fung_a2: float = value("Coefficient a2 of the exponential law.")
    anterior_thickness_um: float = value("Thickness of the front leaf [um].")
    anterior_thickness_profile: Part[Items[ThicknessKnot]] = Part(
        "Thickness of the front leaf by radius, else constant."
    )
    posterior_thickness_um: float = value("Thickness of the back leaf [um]; 0: no back leaf.")
    compression_fraction: float = value("Share of the compressive stiffness kept when wrinkled, 0..1.")
    _parts = {"anterior_thickness_profile": ThicknessKnot}


class Zonule(Section):
    """The zonule: tension-only springs from the bag to the ciliary ring."""

    __slots__ = ()
    _place = "zonule"
    stiffness_mN_per_mm: float = value("Total radial stiffness at full strength [mN/mm].")
    pull_mN: float = value("Total radial pull on the bag in situ at full strength [mN].")
    strength: float = value("Strength of the hours that are not listed, 0 absent .. 1 healthy.")
    strength_by_hour: Part[ByHour] = Part("Strength by clock hour, where it differs.")
    interpolation: str = value("Between hours: stepwise or smooth.")
    ciliary_ring_diameter_mm: float = value("Diameter of the ciliary ring [mm].")
    attachment: str = value("equator, or split between the front leaf and the equator.")
    anterior_share: float = value("With split: share inserted on the front leaf, 0..1.")
    anterior_inset_mm: float = value("With split: distance of that insertion inside the equator [mm].")
    failure_elongation_mm: float | None = value("Elongation at which bundles fail [mm]; None: never.")


class TensionRing(Section):
    """An open capsular tension ring or segment, inside the equator."""

    __slots__ = ()
    _place = "tension_ring"
    free_diameter_mm: float = value("Diameter when free [mm].")
    wire_diameter_mm: float = value("Diameter of its wire [mm].")
    modulus_kPa: float = value("Short-term modulus of its material [kPa].")
    creep_fraction: float = value("Share of the stiffness left after creep, 0..1.")
    creep_time_days: float = value("Time of creep [day].")
    gap_hour: float = value("Where the gap lies at insertion [clock hour].")
    arc_degrees: float = value("Angle covered when free [degree].")
    eyelet_hour: float | None = value("Hour of an eyelet sutured to the sclera; None: no eyelet.")
    eyelet_stiffness_mN_per_mm: float = value("Stiffness of the eyelet's suture [mN/mm].")


class Lens(Section):
    """The artificial lens: a rigid optic on springy haptics."""

    __slots__ = ()
    _place = "lens"
    optic_diameter_mm: float = value("Diameter of the optic [mm].")
    haptics: int = value("Number of haptics: 2, 3 or 4, evenly spaced.")
    axis_hour: float = value("Clock hour of the first haptic.")
    haptic_force_mN: float = value("Push of each haptic on the bag on day 0 [mN].")
    overall_diameter_mm: float = value("Free diameter over the haptics [mm].")
    haptic_arc_degrees: float = value("Contact arc of each haptic on the equator [degree].")
    relaxed_fraction: float = value("Share of the haptic force left after relaxation, 0..1.")
    relaxation_days: float = value("Time of relaxation [day].")
    adhesion_kPa_per_mm: float = value("In-plane bond of leaf to optic over the overlap [kPa/mm].")


class Contraction(Section):
    """The contraction law and its parameters."""

    __slots__ = ()
    _place = "contraction"
    cells_left: float = value("Cells left under the rim, 0 perfect polishing .. 1.")
    cells_left_by_hour: Part[ByHour] = Part("Cells left by clock hour, where they differ.")
    interpolation: str = value("Between hours: stepwise or smooth.")
    chronic_signal: float = value("Stimulus that never fades, share of the first one.")
    signal_days: float = value("Time in which the healing signal fades [day].")
    regrowth_per_day: float = value("Rate at which the cells grow back [1/day].")
    activation_per_day: float = value("Rate at which cells turn into contractile ones [1/day].")
    deactivation_per_day: float = value("Rate at which contractile cells rest again [1/day].")
    tissue_per_day: float = value("Rate at which fibrous tissue is laid down [1/day].")
    remodelling_days: float = value("Time in which the fibres' natural stretch follows [day]: how fast it contracts.")
    laying_stretch: float = value("Stretch at which fibres are laid down: how strongly they pull.")
    packing_limit: float = value("Smallest natural stretch that a fibre family can reach.")
    fibre_modulus_kPa: float = value("Modulus of the fibres [kPa]: how much it contracts.")
    matrix_modulus_kPa: float = value("Resistance of the tissue to compression in its plane [kPa].")
    tissue_thickness_mm: float = value("Full thickness of the fibrous tissue [mm].")
    hoop_weight: float = value("Weight of the fibres along the rim.")
    diagonal_weight: float = value("Weight of the two diagonal fibre families together.")
    radial_weight: float = value("Weight of the fibres square to the rim.")
    band_width_mm: float | None = value("Width of the band of cells under the rim [mm]; None: no decay.")
    edge_width_mm: float = value("Softness of the contact zone's edge [mm].")
    contact_diameter_mm: float | None = value("Diameter inside which leaf lies on optic [mm]; None: the optic's.")
    cells_beyond_contact: float = value("Share of the band's cells that is there outside the contact zone, too.")
    unloaded_deactivation_per_day: float = value("Extra loss of activity of fibres without load [1/day].")
    law: str = value("What pulls, by the name of its law.")
    active_tension_mN_per_mm: float = value(
        "Active lock-in: hoop pull of fully active cells in full tissue [mN/mm]: how much it contracts."
    )
    active_radial_share: float = value("Active lock-in: radial pull over hoop pull.")
    lock_in_per_day: float = value(
        "Active lock-in: rate at which cells take up what is shorter than its natural length [1/day]."
    )
    locked_modulus_kPa: float = value(
        "Active lock-in: modulus of the tissue that holds what was contracted [kPa]: how much stays."
    )


class BagTissue(Section):
    """Fibrous tissue where the two leaves lie on each other outside the optic."""

    __slots__ = ()
    _place = "bag_tissue"
    fibre_modulus_kPa: float = value("Modulus of the fibres there [kPa]: how much the bag contracts; 0: no tissue.")
    active_tension_mN_per_mm: float = value("Active lock-in: hoop pull of active cells there [mN/mm]; 0: no tissue.")
    tissue_thickness_mm: float = value("Full thickness of that tissue on each leaf [mm].")
    hoop_weight: float = value("Weight of its fibres along the equator.")
    diagonal_weight: float = value("Weight of its two diagonal fibre families together.")
    radial_weight: float = value("Weight of its radial fibres: near the hoop weight, the opening is spared.")
    cells_left: float = value("Cells left on the leaves there at the end of surgery, 0..1.")
    cells_left_by_hour: Part[ByHour] = Part("The same by clock hour, where it differs.")
    clear_zone_mm: float = value("Strip at the equator where a tension ring keeps the leaves apart [mm].")
    bond_kPa_per_mm: float = value("In-plane bond of the two leaves where the tissue is full [kPa/mm].")
    haptic_bond_mN_per_mm: float = value("Hold of each haptic along its arc when the tissue is full [mN/mm].")
    inner_diameter_mm: float | None = value("Diameter inside which the leaves are apart [mm]; None: the optic's.")


class RelaxingCuts(Section):
    """Radial slits from the rim outward."""

    __slots__ = ()
    _facts_at = "events[].relaxing_cuts"
    _place = "relaxing_cuts"
    hours: Part[list[float]] = Part("Clock hours of the cuts; decimals are allowed.")
    length_mm: float = value("Length from the rim along the leaf, as it lies at the end of surgery [mm].")


class ZonuleDamage(Section):
    """A sudden change of the zonule."""

    __slots__ = ()
    _facts_at = "events[].zonule_damage"
    strength_by_hour: Part[ByHour] = Part("New strength of the listed clock hours.")


class ContractionChange(Section):
    """Other values of the contraction from that day on: what cells do next; what is None stays."""

    __slots__ = ()
    _facts_at = "events[].contraction_change"
    _place = "contraction_change"
    chronic_signal: float | None = value("Stimulus that never fades.")
    signal_days: float | None = value("Time in which the stimulus of surgery fades, counted from surgery [day].")
    regrowth_per_day: float | None = value("Rate at which cells grow back [1/day].")
    activation_per_day: float | None = value("Rate at which cells become active [1/day].")
    deactivation_per_day: float | None = value("Rate at which they calm down [1/day].")
    tissue_per_day: float | None = value("Rate at which active cells lay tissue [1/day].")
    remodelling_days: float | None = value("Time in which tissue is remodelled [day].")
    laying_stretch: float | None = value("Stretch at which fibres are laid down.")
    unloaded_deactivation_per_day: float | None = value(
        "Extra rate at which cells calm down that carry no load [1/day]."
    )
    active_tension_mN_per_mm: float | None = value("Active lock-in: hoop pull of active cells [mN/mm].")
    active_radial_share: float | None = value("Active lock-in: radial over hoop pull.")
    lock_in_per_day: float | None = value("Active lock-in: rate at which contraction is kept [1/day].")


class Event(Section):
    """What happens on one day; exactly one action."""

    __slots__ = ()
    _facts_at = "events[]"
    day: float = value("Day after surgery.")
    relaxing_cuts: Part[RelaxingCuts] = Part("Cuts made on that day.")
    zonule_damage: Part[ZonuleDamage] = Part("Damage of the zonule on that day.")
    tension_ring: Part[TensionRing] = Part("Ring inserted on that day.")
    contraction_change: Part[ContractionChange] = Part("Values of the contraction that change on that day.")
    _parts = {
        "relaxing_cuts": RelaxingCuts,
        "zonule_damage": ZonuleDamage,
        "tension_ring": TensionRing,
        "contraction_change": ContractionChange,
    }


class Mesh(Section):
    """The finite-element mesh of the front leaf. ``{"level": "coarse"}``, "standard" and "fine" are shorthands."""

    __slots__ = ()
    _place = "mesh"
    around: int = value("Elements around, a multiple of 4.")
    radial: int = value("Element layers from rim to equator.")
    order: int = value("1: 4-node, 2: 8-node elements.")
    tip_layers: int = value("Further layers for each length of cut that is planned: they lie about its tips.")

    @classmethod
    def _complete(cls, values: Mapping[str, Any], path: str) -> dict[str, Any]:
        if "level" in values:
            mesh: dict[str, Any] = checked({**HEADER, "mesh": values})["mesh"]
            return mesh
        return super()._complete(values, path)


class Numerics(Section):
    """Tolerances and limits of the solution."""

    __slots__ = ()
    _place = "numerics"
    time_tolerance: float = value("Local error of the tissue state, absolute and relative.")
    force_tolerance: float = value("Unbalanced force over the largest force scale of the eye.")
    max_step_days: float = value("Longest time step [day].")
    max_steps: int = value("Most time steps of a run.")
    max_work: float = value("Most work of a run, in factorizations of the stiffness matrix.")
