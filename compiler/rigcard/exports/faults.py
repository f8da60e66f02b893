"""The text of `rigcard faults`: what the function test finds and misses, and what explains the lines that failed."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Sequence
from typing import Any

from rigcard.documents.base.phrases import station_title
from rigcard.documents.cards.function_test import lines_of_test, to_do, to_see
from rigcard.documents.cards.mistakes import extra_look, mistake, once, remedy
from rigcard.faults.cover import Cover
from rigcard.faults.diagnosis import Diagnosis, diagnose
from rigcard.faults.figures import seconds_of
from rigcard.faults.judged import Judged
from rigcard.faults.matrix import Matrix, Row
from rigcard.faults.single import KINDS
from rigcard.faults.stations import stations_of
from rigcard.solve.solved import Solved

MOST_TOLD = 12  # explanations that are told
KIND_WORDS = {
    "start": "start position",
    "lead": "lead",
    "power": "power",
    "memory": "memory",
    "plug": "plugs",
    "bind": "binding",
    "menu": "menus",
    "reverse": "reversal",
    "trim": "trims",
    "travel": "travel",
    "subtrim": "sub-trim",
    "failsafe": "failsafe",
    "mix": "mixes",
    "shape": "rate, expo, slow",
    "mount": "mounting",
}


def as_text(found: Judged) -> str:
    """Return the figures: the share by kind, what looks alike, what nobody sees, the short tests, the lines."""
    solved, figures, matrix = found.solved, found.figures, found.matrix
    whole = seconds_of(matrix, frozenset(range(len(matrix.lines))))
    text = [
        f"Of {figures.share.all} single mistakes the full test finds {figures.share.found} ({whole} s, {len(matrix.lines)} "
        f"lines); {figures.harmless} more change nothing.",
        "",
    ]
    text += [
        f"  {KIND_WORDS[kind]:<18} {figures.by_kind[kind].found:>4} of {figures.by_kind[kind].all}"
        for kind in KINDS
        if kind in figures.by_kind
    ]
    if figures.groups:
        text += [
            "",
            f"They fall into {len(figures.groups)} groups that look alike: {float(figures.mean_group):.1f} mistakes "
            f"on average, {figures.largest_group} at most.",
        ]
    if figures.unseen:
        text += ["", "No line sees these; the look beside each does:"]
        text += [
            f"  {mistake(solved, fault)}: {extra_look(solved, fault)}"
            for fault in once(solved, [row.fault for row in figures.unseen])
        ]
    text += [
        "",
        *_short_tests(found),
        "",
    ]
    for number, (line, test) in enumerate(zip(matrix.lines, lines_of_test(solved), strict=True), 1):
        sees = sum(number - 1 in row.differs for row in matrix.rows)
        text.append(
            f"{number:>4}  {test.do}: {test.see}{f' ({test.at})' if line.devices else ''} - tells {sees}"
        )
    return "\n".join(text)


def _short_tests(found: Judged) -> list[str]:
    """Return the short tests of each station, with its handsets if there are several."""
    told = []
    for station, short in zip(stations_of(found.solved), found.shorts, strict=False):
        whose = f" ({station_title(station)})" if len(found.shorts) > 1 else ""
        told += [
            f"After a swap of packs{whose}: {_cover(short.swap)}",
            f"In the morning{whose}: {_cover(short.morning)}",
        ]
    return told


def _cover(cover: Cover) -> str:
    numbers = ", ".join(str(at + 1) for at in sorted(cover.chosen))
    least = "nothing shorter finds as much" if cover.proven else f"at least {cover.bound} s are needed"
    return f"{cover.seconds} s, {least}: lines {numbers}"


def diagnosis_text(found: Judged, failed: Collection[int], passed: Collection[int]) -> str:
    """Return what explains failed and passed lines (by index), the likeliest first, and what to do next."""
    result = diagnose(found.matrix, failed, passed)
    solved = found.solved
    if not result.explained:
        return (
            "No single mistake that the file knows of explains this, and no two do.\n"
            "  do: repeat the lines that failed, then call the technician: a device may be broken"
        )
    many = len(result.explained)
    one, more = ("pair", "pairs") if len(result.explained[0]) > 1 else ("single mistake", "single mistakes")
    text = [f"{many} {more} explain this, the likeliest first:" if many > 1 else f"One {one} explains this:"]
    for rows in result.explained[:MOST_TOLD]:
        told = " and ".join(f"{mistake(solved, row.fault)} ({row.fault.person})" for row in rows)
        text += [f"  {told}", *(f"    do: {each}" for each in _remedies(solved, rows))]
    if many > MOST_TOLD:
        text.append(f"  and {many - MOST_TOLD} less likely")
    return "\n".join([*text, next_text(found, result)])


def _remedies(solved: Solved, rows: Iterable[Row]) -> list[str]:
    return list(dict.fromkeys(remedy(solved, row.fault) for row in rows))


def next_text(found: Judged, result: Diagnosis) -> str:
    """Return the line to do next, or that none tells the explanations apart."""
    if len(result.explained) < 2:
        return "Then repeat the lines that failed."
    if result.next is None:
        return "No line tells these apart: work down the list, then repeat the lines that failed."
    return f"Next: line {result.next + 1}: {question(found.matrix, result.next)}"


def question(matrix: Matrix, at: int) -> str:
    """Return a line as a question: what to do, and what to see."""
    line = matrix.lines[at]
    return f"{to_do(matrix.solved, line)}: {to_see(matrix.solved, line)}?"


def numbers_of(text: str, most: int) -> frozenset[int] | None:
    """Read `7,12` as lines by index; None if it is no such list, or a line is not there."""
    parts = [part.strip() for part in text.split(",")] if text.strip() else []
    if not all(
        part.isascii() and part.isdigit() and len(part) < 6 and 1 <= int(part) <= most for part in parts
    ):
        return None
    return frozenset(int(part) - 1 for part in parts)


def rest_of(matrix: Matrix, failed: Collection[int]) -> frozenset[int]:
    """Return the lines, by index, that passed if all but some did: without those that need one that failed."""
    return frozenset(
        at
        for at, needed in enumerate(matrix.needs)
        if at not in failed and not set(needed).intersection(failed)
    )


def as_json(found: Judged, failed: Collection[int] = (), passed: Collection[int] = ()) -> str:
    """Return the same as JSON: `judged_data`, every mistake, and with failed lines what explains them."""
    solved, matrix = found.solved, found.matrix
    data: dict[str, Any] = {
        "rig": solved.rig.title,
        **judged_data(found),
        "mistakes": [_row(solved, row) for row in matrix.rows],
    }
    if failed or passed:
        result = diagnose(matrix, failed, passed)
        data["explained"] = [[mistake(solved, row.fault) for row in rows] for rows in result.explained]
        data["next"] = None if result.next is None else result.next + 1
    return json.dumps(data, ensure_ascii=False, indent=1)


def _row(solved: Solved, row: Row) -> dict[str, Any]:
    return {
        "kind": row.fault.kind,
        "mistake": mistake(solved, row.fault),
        "who": row.fault.person,
        "lines": [at + 1 for at in sorted(row.differs)],
        "perhaps": [at + 1 for at in sorted(row.open)],
        "harmless": row.harmless,
    }


def judged_data(found: Judged) -> dict[str, Any]:
    """Return the function test as `rig.json` has it under `function_test`."""
    solved, figures, short, matrix = found.solved, found.figures, found.short, found.matrix
    return {
        "single_mistakes": figures.share.all,
        "found": figures.share.found,
        "harmless": figures.harmless,
        "groups": len(figures.groups),
        "mean_group": round(float(figures.mean_group), 6),
        "largest_group": figures.largest_group,
        "by_kind": [
            {"kind": kind, "found": share.found, "all": share.all} for kind, share in figures.by_kind.items()
        ],
        "unseen": [
            {"mistake": mistake(solved, row.fault), "look": extra_look(solved, row.fault)}
            for row in figures.unseen
        ],
        "seconds": seconds_of(matrix, frozenset(range(len(matrix.lines)))),
        "swap": _cover_data(short.swap),
        "morning": _cover_data(short.morning),
        "lines": _lines(found),
    }


def _cover_data(cover: Cover) -> dict[str, Any]:
    return {
        "seconds": cover.seconds,
        "least_seconds": cover.bound,
        "lines": [at + 1 for at in sorted(cover.chosen)],
    }


def _lines(found: Judged) -> list[dict[str, Any]]:
    tests: Sequence[Any] = lines_of_test(found.solved)
    return [
        {"kind": line.kind, "do": test.do, "at": list(line.devices), "see": test.see, "seconds": line.seconds}
        for line, test in zip(found.matrix.lines, tests, strict=True)
    ]
