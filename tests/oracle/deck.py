# SPDX-License-Identifier: BSD-3-Clause
"""Writes a case as an input deck for CalculiX: a solid one element thick that is in plane stress.

Units mm, mN, kPa. Only a sector is meshed, between two rays of symmetry; cuts lie on these rays. The mesh is the deck's
own, made here, and knows nothing of the library's. Plane stress comes about because the sheet is
free to become thinner (z is fixed on its lower face only) while the in-plane displacements are the
same at all heights (equations). Springs pull at the lower face's nodes with the shares of Simpson's rule.

A contracting band is a thermal strain where everything is linear. At large strain CalculiX takes thermal
strains off the total Lagrange strain, and a tissue's contraction multiplies: for a leaf that shrinks by a
tenth everywhere, on springs of 0.5 mN/mm2, the rim keeps 0.94154 of its radius one way and 0.94179 the other.
So there the band is a part of its own, made to its unloaded size (scaled in all three directions), whose outer
edge is then brought onto the leaf's inner edge (equations with a misfit that a control node takes away).
"""

import math
from dataclasses import dataclass, field

# Bulk over shear modulus: large enough to be incompressible to a few parts in ten thousand.
BULK_RATIO = 1000.0


def num(value):
    """Fits the 20 columns that CalculiX reads of a number; longer ones would lose their exponents."""
    return f"{value:.12g}"


def spaced(start, end, marks, size):
    """Lines from start to end through all marks, about size(position) apart."""
    stops = sorted({start, end, *[m for m in marks if start < m < end]})
    lines = [start]
    for a, b in zip(stops, stops[1:]):
        steps = [a]
        while steps[-1] < b:
            steps.append(steps[-1] + min(size(steps[-1]), b - a) / 40)
        steps[-1] = b
        count = [0.0]
        for p, q in zip(steps, steps[1:]):
            count.append(count[-1] + (q - p) / size((p + q) / 2))
        n = max(1, round(count[-1]))
        k = 0
        for i in range(1, n):
            want = count[-1] * i / n
            while count[k + 1] < want:
                k += 1
            lines.append(steps[k] + (steps[k + 1] - steps[k]) * (want - count[k]) / (count[k + 1] - count[k]))
        lines.append(b)
    return lines


@dataclass
class Deck:
    """The deck's text and what is needed to read its answer."""

    text: str
    rim: list = field(default_factory=list)  # node numbers along the sector's rim, corner and mid-side
    rays: list = field(default_factory=list)  # angles of the element boundaries
    slits: dict = field(default_factory=dict)  # angle in degrees: nodes from the rim to the tip
    pulled: dict = field(default_factory=dict)  # node number: angle, of the anchors or of the held edge
    reference: dict = field(default_factory=dict)  # node number: (x, y)
    sector_deg: float = 180


def band_fraction(case):
    """Where the band ends on the way from rim to equator."""
    band = case["band"]
    if "to_fraction" in band:
        return band["to_fraction"]
    leaf = case["leaf"]
    return (band["to_radius_mm"] - leaf["rim_radius_mm"]) / (leaf["equator_radius_mm"] - leaf["rim_radius_mm"])


# Linear cases are solved at this share of their load: CalculiX's springs know large displacements in every
# analysis, and their forces would show it.
LINEAR_SHARE = 1e-4


def write(case, coarsest=0.3, at_tip=0.03, growth=0.35, angle=math.pi / 24):
    leaf, support, law = case["leaf"], case["support"], case["law"]
    a, b, h = leaf["rim_radius_mm"], leaf["equator_radius_mm"], leaf["thickness_mm"]
    cx, cy = leaf["rim_center_mm"]
    sector = math.radians(case["sector_deg"])
    linear = law["kind"] == "linear"
    share = LINEAR_SHARE if linear else 1.0
    fitted = "band" in case and not linear  # a band of its own
    cuts = {
        math.radians(c["angle_deg"]): c["length_mm"]
        for c in case.get("cuts", [])
        if c["angle_deg"] <= case["sector_deg"]
    }

    def column_length(t):
        return math.hypot(cx + (a - b) * math.cos(t), cy + (a - b) * math.sin(t))

    tips = {t: length / column_length(t) for t, length in cuts.items()}
    marks = list(tips.values()) + ([band_fraction(case)] if "band" in case else [])
    width = b - a

    def line_size(s):
        return min([coarsest] + [at_tip + growth * width * abs(s - tip) for tip in tips.values()]) / width

    def ray_size(t):
        radius = a + 0.5
        return min([angle] + [(at_tip + growth * radius * abs(t - c)) / radius for c in cuts])

    corners = [0, math.radians(support["missing_beyond_deg"])] if "missing_beyond_deg" in support else [0]
    lines, rays = spaced(0, 1, marks, line_size), spaced(0, sector, corners, ray_size)
    rows, cols = 2 * len(lines) - 1, 2 * len(rays) - 1

    def between(values, i):
        return values[i // 2] if i % 2 == 0 else 0.5 * (values[i // 2] + values[i // 2 + 1])

    # With a band of its own, the row where it ends exists twice: index -1 - i is the band's.
    seam = 2 * lines.index(min(lines, key=lambda s: abs(s - band_fraction(case)))) if fitted else None
    scale = 1 + case["band"]["strain"] if fitted else 1.0

    def band_row(i):
        return -1 - i if i == seam else i

    number, place = {}, {}
    for j in range(cols):
        t = between(rays, j)
        rim = (cx + a * math.cos(t), cy + a * math.sin(t))
        edge = (b * math.cos(t), b * math.sin(t))
        for i in range(rows):
            s = between(lines, i)
            xy = (rim[0] + s * (edge[0] - rim[0]), rim[1] + s * (edge[1] - rim[1]))
            for k in range(3):
                if (i % 2 and j % 2) or (k == 1 and (i % 2 or j % 2)):
                    continue
                if fitted and i <= seam:
                    number[band_row(i), j, k] = len(number) + 1
                    place[number[band_row(i), j, k]] = (scale * xy[0], scale * xy[1], scale * 0.5 * k * h)
                if not fitted or i >= seam:
                    number[i, j, k] = len(number) + 1
                    place[number[i, j, k]] = (*xy, 0.5 * k * h)
    deck = Deck("", sector_deg=case["sector_deg"])
    out = ["** " + case["title"], "*NODE, NSET=ALL"]
    out += [f"{n}, {num(x)}, {num(y)}, {num(z)}" for n, (x, y, z) in place.items()]

    groups = {"LEAF": [], "BAND": []}
    element = 0
    last_band_line = band_fraction(case) if "band" in case else -1.0
    out.append("*ELEMENT, TYPE=C3D20R, ELSET=SHEET")
    for j in range(0, cols - 1, 2):
        for i in range(0, rows - 1, 2):
            element += 1
            flat = [(i, j), (i + 2, j), (i + 2, j + 2), (i, j + 2)]
            mid = [(i + 1, j), (i + 2, j + 1), (i + 1, j + 2), (i, j + 1)]
            if fitted and i < seam:
                flat, mid = ([(band_row(r), c) for r, c in ring] for ring in (flat, mid))
            nodes = (
                [number[p + (0,)] for p in flat]
                + [number[p + (2,)] for p in flat]
                + [number[p + (0,)] for p in mid]
                + [number[p + (2,)] for p in mid]
                + [number[p + (1,)] for p in flat]
            )
            out.append(f"{element}, " + ", ".join(map(str, nodes[:10])) + ",")
            out.append(", ".join(map(str, nodes[10:])))
            groups["BAND" if lines[i // 2 + 1] < last_band_line + 1e-9 else "LEAF"].append(element)

    # ---- supports: transformed nodes, springs ----------------------------------------------------
    held = support["kind"] == "held"
    edge_row = rows - 1
    round_nodes = [n for (i, j, k), n in number.items() if held and i == edge_row]
    slant_nodes = [n for (i, j, k), n in number.items() if j == cols - 1 and not (held and i == edge_row)]
    slanted = case["sector_deg"] not in (90, 180)
    if round_nodes:
        out += ["*NSET, NSET=ROUND"] + [f"{n}," for n in round_nodes]
        out += ["*TRANSFORM, NSET=ROUND, TYPE=C", "0, 0, 0, 0, 0, 1"]
    if slanted:
        out += ["*NSET, NSET=SLANT"] + [f"{n}," for n in slant_nodes]
        c, s = math.cos(sector), math.sin(sector)
        out += ["*TRANSFORM, NSET=SLANT, TYPE=R", f"{num(c)}, {num(s)}, 0, {num(-s)}, {num(c)}, 0"]
    out.append("*EQUATION")
    for (i, j, k), n in number.items():
        if k:
            for axis in (1, 2):
                out += ["2", f"{n}, {axis}, 1., {number[i, j, 0]}, {axis}, -1."]

    if fitted:
        control = len(number) + 1
        for j in range(cols):
            ours, theirs = number[seam, j, 0], number[band_row(seam), j, 0]
            for axis in (1, 2):
                # u(band) - u(leaf) = (1 - scale) X once the control node has moved by 1.
                misfit = (1 - scale) * place[ours][axis - 1]
                terms = [f"{theirs}, {axis}, 1.", f"{ours}, {axis}, -1."] + (
                    [f"{control}, 1, {num(-misfit)}"] if abs(misfit) > 1e-12 else []
                )
                out += [str(len(terms)), ", ".join(terms)]
        out += ["*NODE, NSET=CONTROL", f"{control}, 0, 0, 1"]

    springs, anchor_lines, moved = [], [], []
    if not held:
        missing = math.radians(support.get("missing_beyond_deg", 1e9))
        shares = {}
        for j in range(0, cols - 1, 2):
            here = [number[edge_row, j + c, 0] for c in range(3)]
            p, m, q = (place[n] for n in here)
            middle = math.atan2(m[1], m[0])
            if middle > missing:
                continue
            # Shares of the edge's length by Simpson's rule with the length of the arc at each node.
            slopes = [[-1.5, 2, -0.5], [-0.5, 0, 0.5], [0.5, -2, 1.5]]
            for which, weight in zip(range(3), (1 / 3, 4 / 3, 1 / 3)):
                d = [sum(w * v[axis] for w, v in zip(slopes[which], (p, m, q))) for axis in (0, 1)]
                t = math.atan2(place[here[which]][1], place[here[which]][0])
                k = support["stiffness_mN_per_mm2"] * (1 + support["uneven"] * math.cos(t))
                shares[here[which]] = shares.get(here[which], 0.0) + weight * math.hypot(*d) * k
        slack, ring = support["slack_length_mm"], support["anchor_radius_mm"]
        for n, stiffness in shares.items():
            x, y, _ = place[n]
            t = math.atan2(y, x)
            anchor = len(number) + len(deck.pulled) + 2
            r = math.hypot(x, y) + slack  # unloaded; moved to the ring as a first step of the load
            anchor_lines.append(f"{anchor}, {num(r * math.cos(t))}, {num(r * math.sin(t))}, 0")
            moved.append((anchor, share * (ring - r) * math.cos(t), share * (ring - r) * math.sin(t)))
            deck.pulled[anchor] = t
            springs.append((n, anchor, stiffness))
        out += ["*NODE, NSET=ANCHORS"] + anchor_lines
        for n, anchor, stiffness in springs:
            element += 1
            out += [f"*ELEMENT, TYPE=SPRINGA, ELSET=S{element}", f"{element}, {n}, {anchor}"]
            if support.get("missing_beyond_deg") is None:
                out += [f"*SPRING, ELSET=S{element}", "", f"{num(stiffness)}"]
            else:  # pulls only
                out += [f"*SPRING, ELSET=S{element}, NONLINEAR", "0., -20.", "0., 0.", f"{num(20 * stiffness)}, 20."]

    # ---- material ------------------------------------------------------------------------------------
    for name, members in groups.items():
        if not members:
            continue
        out += [f"*ELSET, ELSET={name}"] + [f"{e}," for e in members]
        out.append(f"*MATERIAL, NAME=M{name}")
        if linear:
            out += ["*ELASTIC", f"{num(law['modulus_kPa'])}, {num(law['poisson_ratio'])}"]
        else:
            mu = law["shear_modulus_kPa"]
            out += ["*HYPERELASTIC, NEO HOOKE", f"{num(mu / 2)}, {num(2 / (BULK_RATIO * mu))}"]
        if name == "BAND" and not fitted:
            out += ["*EXPANSION, ZERO=0.", f"{num(share * case['band']['strain'])}"]
        out += [f"*SOLID SECTION, ELSET={name}, MATERIAL=M{name}"]
    if "band" in case and not fitted:
        out += ["*INITIAL CONDITIONS, TYPE=TEMPERATURE", "ALL, 0."]

    # ---- fixed displacements -------------------------------------------------------------------------
    out.append("*BOUNDARY")
    out += [f"{number[i, j, 0]}, 3, 3" for (i, j, k) in number if k == 0]
    for column, t in ((0, 0.0), (cols - 1, sector)):
        tip = tips.get(t, tips.get(math.radians(round(math.degrees(t))), 0.0))
        normal = 1 if (column and case["sector_deg"] == 90) else 2
        slit = []
        for i in range(rows):
            # The seam's nodes on the band's side follow the leaf's.
            n = number[i, column, 0]
            if between(lines, i) < tip - 1e-9:
                slit.append(n)
                continue
            if tip > 0 and abs(between(lines, i) - tip) < 1e-9:
                slit.append(n)
            on_round = held and i == edge_row
            out.append(f"{n}, {2 if on_round else normal}, {2 if on_round else normal}")
        if slit:
            deck.slits[round(math.degrees(t), 6)] = slit
    if not held:
        out += [f"{anchor}, 3, 3" for anchor in deck.pulled]
    if fitted:
        out += [f"{control}, 2, 3"]

    # ---- load ------------------------------------------------------------------------------------------
    out += ["*STEP" if linear else "*STEP, NLGEOM, INC=200", "*STATIC" + ("" if linear else "\n0.25, 1., 1e-4, 0.5")]
    out.append("*BOUNDARY")
    if held:
        out += [f"{number[edge_row, j, 0]}, 1, 1, {num(share * (support['edge_radius_mm'] - b))}" for j in range(cols)]
    else:
        out += [f"{n}, {axis}, {axis}, {num(u)}" for n, ux, uy in moved for axis, u in ((1, ux), (2, uy))]
    if fitted:
        out.append(f"{control}, 1, 1, 1.")
    if "band" in case and not fitted:
        out += ["*TEMPERATURE", "ALL, 1."]
    lower = [n for (i, j, k), n in number.items() if k == 0]
    deck.rays = rays
    deck.rim = [number[0, j, 0] for j in range(cols)]
    shown = sorted(set(deck.rim) | {n for slit in deck.slits.values() for n in slit})
    out += ["*NSET, NSET=SHOWN"] + [f"{n}," for n in shown]
    out += ["*NODE PRINT, NSET=SHOWN, GLOBAL=YES, FREQUENCY=1000", "U"]
    if held:
        # At all heights: the equations leave each node's own force in place.
        deck.pulled = {n: between(rays, j) for (i, j, k), n in number.items() if i == edge_row}
        out += ["*NSET, NSET=EDGE"] + [f"{n}," for n in deck.pulled]
        out += ["*NODE PRINT, NSET=EDGE, GLOBAL=YES, FREQUENCY=1000", "RF"]
    else:
        out += ["*NODE PRINT, NSET=ANCHORS, GLOBAL=YES, FREQUENCY=1000", "RF"]
    out.append("*END STEP")
    deck.reference = {n: place[n][:2] for n in lower}
    deck.text = "\n".join(out) + "\n"
    return deck
