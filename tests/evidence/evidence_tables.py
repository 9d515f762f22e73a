# SPDX-License-Identifier: BSD-3-Clause
"""Tables of the evidence page, a function for each, from rows of the records."""

from evidence_records import case_ids, decimals, off_share

# Worked cases that no test compares, and why. Empty, and better so.
NOT_COMPARED = {}

# What a family of worked cases is about, by the beginning of its name.
TITLES = {
    "disc_and_annulus": "even contraction outside the optic on both leaves, bag on springs",
    "LAME-PULL-FREE": "linear annulus pulled at its edge",
    "LAME-PULL-SPRING": "the same, held by springs",
    "ACT-ISO": "isotropic active stress against springs",
    "ACT-HOOP": "hoop active stress against springs",
    "ACT-2ZONE": "active stress in an inner zone",
    "ACT-BAND": "active stress that fades from the rim",
    "NH-DISP": "neo-Hookean annulus, edge moved outward",
    "NH-GROW-ISO": "neo-Hookean annulus that shrinks, on springs",
    "NH-GROW-HOOP": "the same, shrinking along the hoop",
    "NH-GROW-BAND": "the same, a shrinking band at the rim",
    "CUT4-BAND": "four cuts in a contracted rim",
    "CUT4-NH-DISP": "four cuts in a stretched leaf",
    "CUT4-LIN-G": "four cuts in a linear leaf",
    "SIF-HOLE-bi": "cuts at a hole, pulled all round",
    "SIF-HOLE-uni": "cuts at a hole, single pull",
    "SIF-LIMIT": "a very short cut at a hole",
    "SIF-G-EXAMPLE": "energy release of cuts at a hole",
    "HOLE-SHEET": "hole in a wide sheet",
    "FOURIER-COMP": "waves of load on the edge",
    "FOURIER": "springs uneven around the edge",
    "RING-CLOSED": "springs of an open and a closed ring",
    "RING-LARGE": "ends of a ring brought together",
    "ELASTICA-CANTILEVER": "bent cantilever",
    "ELASTICA-ROLLUP": "wire rolled to a circle",
    "COOK": "Cook's membrane",
    "RATES-LAME": "order of convergence",
    "PATCH": "patch test on a distorted mesh",
    "LOGISTIC": "cells regrow (the tissue's equations are not the library's: they check its time stepper)",
    "BERNOULLI-LAW": "cells under a fading signal (not a law of the library: it checks its time stepper)",
    "CREEP-SPRING": "tissue that creeps beside a spring",
    "SLS": "haptic and ring relax",
}


def title(case):
    return TITLES[max((name for name in TITLES if case.startswith(name)), key=len)]


def cell(text):
    return str(text).replace("|", "\\|").replace("\n", " ")


def table(head, rows):
    return "\n".join(
        ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
        + ["| " + " | ".join(cell(c) for c in row) + " |" for row in rows]
    )


def power(number, digits=1):
    """A small number as 3e-8, others as they are usually written."""
    if number == 0 or 1e-3 <= abs(number) < 1e4:
        return f"{number:.{max(digits, 1)}g}"
    mantissa, exponent = f"{number:.{digits - 1}e}".split("e")
    return f"{mantissa.removesuffix('.0')}e{int(exponent)}"


def size(number, row, digits=1):
    """A difference or a tolerance of a row in its unit, or in percent."""
    if row["kind"] == "relative":
        return f"{power(100 * number, digits)} %"
    return f"{power(number, digits)} {'points' if row['unit'] == '%' else row['unit']}".rstrip()


def off(row):
    difference = abs(row["value"] - row["expected"])
    return difference / abs(row["expected"]) if row["kind"] == "relative" and row["expected"] else difference


def off_text(row):
    if row["kind"] == "at_least":
        return ""
    if off_share(row) < 0.01:
        return "< " + size(row["limit"] / 100, row)
    return size(off(row), row, 2 if off_share(row) > 1 else 1)


def tolerance_text(row):
    return "at least " + f"{row['expected']:g}" if row["kind"] == "at_least" else size(row["limit"], row, 2)


def figure(number, row):
    digits = max(0, decimals(row) - 1) if row["kind"] != "at_least" else 2
    small = abs(number) < 10**-digits
    return ("0" if small else f"{number:.{digits}f}") + (f" {row['unit']}" if row["unit"] else "")


def result(row):
    return "pass" if row["passed"] else "**miss**" + (f": {row['miss']}" if row.get("miss") else "")


def case_table(rows):
    """One line per worked case: its figure that uses most of its tolerance."""
    out = []
    for name in case_ids():
        own = [r for r in rows if r["table"] == "case" and r["id"] == name]
        if not own:
            out.append((f"{name}: {title(name)}", "", "", "", "", "", "", f"not compared: {NOT_COMPARED[name]}"))
            continue
        worst = max(own, key=off_share)
        missed = [r for r in own if not r["passed"]]
        reasons = "; ".join(dict.fromkeys(r["miss"] for r in missed))
        quantity = worst["quantity"] + (f" (worst of {len(own)})" if len(own) > 1 else "")
        out.append(
            (
                f"`{name}` {title(name)}",
                quantity,
                worst["source"],
                figure(worst["expected"], worst),
                figure(worst["value"], worst),
                off_text(worst),
                tolerance_text(worst),
                f"**miss** ({len(missed)} of {len(own)}): {reasons}" if missed else "pass",
            )
        )
    return table(("Case", "Figure", "Source", "Expected", "libcapsim", "Off by", "Tolerance", "Result"), out)


def order_table(rows):
    return table(
        ("Problem and mesh", "Figure", "Source", "Measured", "Wanted", "Result"),
        [
            (
                r["id"],
                r["quantity"],
                r["source"],
                f"{r['value']:.2f}",
                tolerance_text(r) if r["kind"] == "at_least" else f"{r['expected']:g} +- {r['limit']:g}",
                result(r),
            )
            for r in rows
            if r["table"] == "order"
        ],
    )


def eye_table(rows):
    """One line per eye, with the days side by side."""
    eyes = list(dict.fromkeys(r["id"] for r in rows if r["table"] == "round_eye"))
    out, days = [], None
    for eye in eyes:
        own = [r for r in rows if r["table"] == "round_eye" and r["id"] == eye]
        days = [r["quantity"].rsplit(" ", 1)[1] for r in own]
        missed = [day for day, r in zip(days, own) if not r["passed"]]
        limits = list(dict.fromkeys(tolerance_text(r).removesuffix(" points") for r in own))
        out.append(
            (
                eye,
                own[0]["source"],
                *(" / ".join(figure(r[side], {**r, "unit": ""}) for r in own) for side in ("expected", "value")),
                " / ".join(off_text(r).removesuffix(" points") for r in own),
                " / ".join(limits if len(limits) == 1 else [tolerance_text(r).removesuffix(" points") for r in own]),
                f"**miss** on day {', '.join(missed)}" if missed else "pass",
                "; ".join(dict.fromkeys(r["miss"] for r in own if r["miss"])),
            )
        )
    return table(
        (
            "Eye",
            "Source",
            f"Expected loss of area [%] on day {' / '.join(days)}",
            "libcapsim",
            "Off by [points]",
            "Tolerance",
            "Result",
            "Likely reason",
        ),
        out,
    )


def solver_table(record):
    def value(row, side):
        v = row[side]
        if v is None:
            return f"{power(row['distance_mm'])} mm apart" if side == "library" else ""
        return ", ".join(f"{x:.4f}" for x in v) if isinstance(v, list) else f"{v:.5f}"

    def row(r):
        relative = {"kind": "relative"}
        return (
            r["title"],
            f"{r['quantity']} [{r['unit']}]",
            value(r, "calculix"),
            value(r, "library"),
            size(r["difference"], relative),
            size(r["tolerance"], relative),
            r["relative_to"],
            result(r),
        )

    return table(
        ("Case", "Figure", "CalculiX", "libcapsim", "Off by", "Tolerance", "of", "Result"),
        [row(r) for r in record["rows"]],
    )


def clinical_table(claims):
    out = []
    for claim in claims:
        for law, answer in claim["answers"].items():
            verdict = f"**{answer['verdict']}**" if answer["verdict"] in ("miss", "sign") else answer["verdict"]
            who = f" ({law})" if len(claim["answers"]) > 1 else ""
            out.append(
                (
                    ", ".join(claim["rows"]),
                    claim["says"] + who,
                    claim["published"],
                    answer["text"],
                    verdict,
                    claim["likely"] if answer["verdict"] != "pass" else "",
                )
            )
    return table(("Source", "Says", "Published, with its size", "libcapsim", "Result", "Likely reason"), out)


def property_table(properties):
    def more(p):
        return (
            f"{p['explored']['scenarios']} ({', '.join(str(s) for s in p['explored']['seeds'])})"
            if "explored" in p
            else ""
        )

    return table(
        ("Property", "Random scenarios at each test run", "Seed", "Tried once beyond (seeds)", "Result"),
        [(p["statement"], p["scenarios"], p["seed"], more(p), "holds") for p in properties if "exception" not in p],
    )


def exceptions(properties):
    return "\n".join(
        f"- **Does not always hold:** {p['statement']}. {p['exception']}." for p in properties if "exception" in p
    )
