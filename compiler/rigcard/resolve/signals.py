"""Resolves signals."""

from __future__ import annotations

from rigcard.diagnostics import Diagnostics, Related
from rigcard.resolve import codes, words
from rigcard.resolve.measures import length_mm
from rigcard.resolve.mechanics import Serial
from rigcard.resolve.model import (
    SERVO,
    UNKNOWN,
    Counts,
    Signal,
)
from rigcard.resolve.scope import Block, ordered, whole, word
from rigcard.syntax import tree

BUILT_IN = Signal(
    name=SERVO,
    title="Servo pulse",
    kind=SERVO,
    powers=False,
    channels=1,
    counts=None,
    serial=Serial(None, "", None, None),
    span=None,
)
MOST_CHANNELS = 64


def signal(statement: tree.Signal, diagnostics: Diagnostics) -> Signal:
    """A signal from its statement."""
    block = Block(statement.options, statement.name, diagnostics)
    many = block.one(tree.CarriesChannels)
    single = block.one(tree.CarriesKind)
    kind, channels, powers = UNKNOWN, 0, False
    if many and single:
        diagnostics.report(
            codes.DOUBLED_STATEMENT,
            single.kinds[0].span,
            f"signal `{statement.name.text}` says twice what it carries",
            "keep one `carries`",
            Related(many.number.span, "first said here"),
        )
    if many:
        kind, channels = "channels", whole(many.number, 1, MOST_CHANNELS, "count of channels", diagnostics)
    elif single and single.kinds[0].text in ("channels", "channel"):
        diagnostics.report(
            codes.MISSING_STATEMENT,
            single.kinds[0].span,
            f"signal `{statement.name.text}` does not say how many channels it carries",
            "write the number before the word, such as `carries 16 channels`",
        )
    elif single:
        kind, powers = _kinds(single, statement.name, diagnostics)
    else:
        diagnostics.report(
            codes.MISSING_STATEMENT,
            statement.name.span,
            f"signal `{statement.name.text}` does not say what it carries",
            "write `carries 16 channels`, `carries commands`, `carries power` or `carries picture`",
        )
    return Signal(
        name=statement.name.text,
        title=statement.title.text,
        kind=kind,
        powers=powers,
        channels=channels,
        counts=_counts(block, diagnostics),
        serial=_serial(block, diagnostics),
        span=statement.name.span,
    )


def _kinds(stated: tree.CarriesKind, name: tree.Name, diagnostics: Diagnostics) -> tuple[str, bool]:
    """The kind of a signal (`power` only if it carries nothing else), and whether it carries power."""
    known: list[str] = []
    for kind in stated.kinds:
        found = word(kind, words.SIGNAL_KINDS, "kind of signal", diagnostics)
        if found is None:
            return UNKNOWN, False
        if found in known or {*known, found} >= {"commands", "picture"}:
            diagnostics.report(
                codes.DOUBLED_STATEMENT,
                kind.span,
                f"signal `{name.text}` carries {known[0]}, and beside that only power",
                f"write `carries {known[0]}`, `carries {known[0]}, power`, or a second signal for {found}"
                if known[0] not in ("power", found)
                else f"write `carries {' , '.join(dict.fromkeys(known)).replace(' ,', ',')}`",
            )
            continue
        known.append(found)
    return next((kind for kind in known if kind != "power"), "power"), "power" in known


def _serial(block: Block, diagnostics: Diagnostics) -> Serial:
    """The parameters of a serial line."""
    rate, logic, reach = block.one(tree.Baud), block.one(tree.Logic), block.one(tree.Reach)
    polarity = block.one(tree.Polarity)
    return Serial(
        rate.number.value if rate else None,
        (word(polarity.name, words.POLARITIES, "polarity", diagnostics) if polarity else None) or "",
        logic.voltage.value if logic else None,
        length_mm(reach.length) if reach else None,
    )


def _counts(block: Block, diagnostics: Diagnostics) -> Counts | None:
    counts = block.one(tree.Counts)
    field = block.one(tree.Field)
    if counts is None or not ordered(counts.low, counts.high, diagnostics):
        return None
    if not ordered(counts.low_percent, counts.high_percent, diagnostics):
        return None
    low, high = int(counts.low.value), int(counts.high.value)
    return Counts(
        low=low,
        high=high,
        low_percent=counts.low_percent.value,
        high_percent=counts.high_percent.value,
        field_low=int(field.low.value) if field else low,
        field_high=int(field.high.value) if field else high,
    )
