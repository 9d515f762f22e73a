# SPDX-License-Identifier: BSD-3-Clause
"""The clinical scoreboard: every row marked `validate`, what the model says to it, and whether they agree.

    python3 tests/clinical/scoreboard.py           writes libcapsim/doc/clinical.md, its picture and tests/evidence/clinical.json
    python3 tests/clinical/scoreboard.py --check   fails when a committed number or verdict is not what comes out

Nothing here is fitted. Each arm of a trial is a population of the library (fitted to other rows, see
calibrate.py) with the trial's own settings; 64 eyes, the same in every arm (arms.py). A difference is judged as
the trial judged it: z is the model's mean difference over the standard error that a trial of that many
eyes would have, its 3 % measuring error included.

  published a difference   pass: same sign and z at least 1.96; sign: same sign, too small to be seen; miss: otherwise
  published none           pass: |z| below 1.96, such a trial would not see the model's difference either; miss: otherwise;
                           beside it the power of such a trial at the model's difference, and what it sees 4 times in 5
  published a number       pass: within two standard errors, 1.5 points between studies included; miss: otherwise
  published a count        pass: not in the outer 5 % of what such a trial would count, 64 eyes known of the share; miss: otherwise

A claim that the model can not fail, since nothing in it bears on the claim, is "not modelled". The third voice is a
stand-in without mechanics (stand_in.py). Where it gets the same verdict, mechanics has shown nothing; the headline
counts the claims on which the two differ, each study once.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

import stand_in
from arms import ARMS, VOICES, Arm, Eyes
from claims import Claim, claims
from cohorts import rows
from verdicts import Answer

ROOT = Path(__file__).resolve().parent.parent.parent
RECORD = ROOT / "tests" / "evidence" / "clinical.json"


def score(voices: Iterable[str] = VOICES) -> list[Claim]:
    """The claims with the answers of some voices of the model, and of the stand-in."""
    found = claims()
    said = {id_ for claim in found for id_ in claim.rows}
    wanted = {r.id for r in rows() if r.role == "validate"}
    if said != wanted:
        raise LookupError(
            f"rows without a claim: {sorted(wanted - said)}; claims without a row: {sorted(said - wanted)}"
        )
    for voice in voices:
        arms: dict[str, Eyes] = {name: Arm(name, voice) for name in ARMS}
        answer(found, voice, arms)
    answer(found, stand_in.NAME, {name: stand_in.StandIn(name) for name in ARMS})
    return found


def answer(found: list[Claim], voice: str, arms: Mapping[str, Eyes]) -> None:
    """What a law, or the stand-in, says to every claim."""
    for claim in found:
        if claim.ask is None:
            claim.answers[voice] = Answer("", "not modelled")
            continue
        try:
            claim.answers[voice] = claim.ask(arms)
        except stand_in.Silent:
            claim.answers[voice] = Answer("", "not modelled")


RIGHT = {"miss": 0, "sign": 1, "pass": 2}


def study(claim: Mapping[str, Any]) -> str:
    """The first study of a claim."""
    return str(claim["rows"][0]).split("-")[0]


def compared(found: list[dict[str, Any]], law: str) -> tuple[float, float, int]:
    """Studies in which the law is right where the stand-in is not, the other way round, and how many studies answer.

    A study counts once: each of its claims that the law answers has an equal part of it.
    """
    answered = [c for c in found if c["answers"][law]["verdict"] in RIGHT]
    claims_of = Counter(map(study, answered))
    better = worse = 0.0
    for claim in answered:
        own, other = (RIGHT.get(claim["answers"][v]["verdict"], 0) for v in (law, stand_in.NAME))
        better += (own > other) / claims_of[study(claim)]
        worse += (own < other) / claims_of[study(claim)]
    return better, worse, len(claims_of)


def headline(found: list[dict[str, Any]], law: str) -> str:
    better, worse, studies = compared(found, law)
    return (
        f"right where the stand-in is not in {better:.1f} of {studies} studies, wrong where it is right in {worse:.1f}"
    )


def record(found: list[Claim]) -> list[dict[str, Any]]:
    return [
        {
            "rows": c.rows,
            "says": c.says,
            "published": c.published,
            "kind": c.kind,
            "likely": c.likely,
            "answers": {law: asdict(a) for law, a in c.answers.items()},
        }
        for c in found
    ]


def drifted(old: list[dict[str, Any]], new: list[dict[str, Any]]) -> list[str]:
    """What a fresh scoreboard says otherwise: a verdict, or a number by more than 3 % and 0.05."""
    if [c["says"] for c in old] != [c["says"] for c in new]:
        return ["the list of claims has changed"]
    moved = []
    for before, after in zip(old, new):
        for law, answer in after["answers"].items():
            known = before["answers"].get(law)
            if known is None or known["verdict"] != answer["verdict"]:
                moved.append(
                    f"{after['says']} ({law}): {known and known['verdict']} committed, {answer['verdict']} now"
                )
            elif answer["number"] is not None and not math.isclose(
                answer["number"], known["number"], rel_tol=0.03, abs_tol=0.05
            ):
                moved.append(f"{after['says']} ({law}): {known['number']} committed, {answer['number']} now")
    return moved


def main() -> int:
    parser = argparse.ArgumentParser(description="The clinical scoreboard.")
    parser.add_argument(
        "--check", action="store_true", help="write nothing; fail when what is committed is not what comes out"
    )
    check = parser.parse_args().check
    found = score()
    new = record(found)
    counts: dict[str, int] = {}
    for claim in found:
        for law, answer in claim.answers.items():
            counts[f"{law}: {answer.verdict}"] = counts.get(f"{law}: {answer.verdict}", 0) + 1
            print(
                f"{answer.verdict:<13} {'/'.join(claim.rows)[:28]:<28} {claim.says}: {claim.published} | {law}: {answer.text}"
            )
    print(counts)
    for voice in VOICES:
        print(voice + ": " + headline(new, voice))
    if check:
        moved = drifted(json.loads(RECORD.read_text(encoding="utf-8")), new)
        for line in moved:
            print("moved: " + line)
        return 1 if moved else 0
    RECORD.write_text(json.dumps(new, indent=1) + "\n", encoding="utf-8")
    from page import write

    write(new)
    return 0


if __name__ == "__main__":
    sys.exit(main())
