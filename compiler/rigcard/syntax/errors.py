"""What to say about text that the grammar does not allow, in the words of the language, never in lark's."""

import re

from lark import UnexpectedCharacters, UnexpectedInput, UnexpectedToken
from lark.lexer import PatternStr

from rigcard.diagnostics import Sink
from rigcard.reporting.suggest import near, one_of
from rigcard.source import Source, Span
from rigcard.syntax import codes
from rigcard.syntax.parser import Language

QUANTITIES = {
    "PERCENT": ("a percentage", "70%"),
    "PULSE": ("a pulse length", "1520us"),
    "LENGTH": ("a length", "600mm"),
    "MASS": ("a mass", "0.9kg"),
    "DURATION": ("a time", "800ms"),
    "INT": ("a whole number", "4"),
}
UNITS = {
    "%": "percentage",
    "us": "pulse length",
    "mm": "length",
    "cm": "length",
    "m": "length",
    "kg": "mass",
    "g": "mass",
    "V": "voltage",
    "A": "current",
    "mA": "current",
    "Ah": "charge",
    "mAh": "charge",
    "Wh": "energy",
    "W": "power",
    "mm2": "cross-section",
    "mm²": "cross-section",
    "s": "time",
    "ms": "time",
    "min": "time",
    "h": "time",
    "deg": "angle",
}
DESCRIBED = {
    "NAME": "a name",
    "STRING": 'words in "quotes"',
    "DATE": "a date such as 2026-05-14",
    "LEVER": "`stick`, `slider` or `dial`",
    "DIRECTION": "`in` or `out`",
    "ORDER": "`before` or `after`",
    "CABLE_PLACE": "`moving` or `airborne`",
    "_CHANNELS": "`channels`",
    "_CENTRE": "`centre`",
}
FIXED_WORDS = {  # terminals of several words, or of one that is kept in the tree
    "LEVER": ("stick", "slider", "dial"),
    "DIRECTION": ("in", "out"),
    "ORDER": ("before", "after"),
    "CABLE_PLACE": ("moving", "airborne"),
    "_CHANNELS": ("channel", "channels"),
    "_CENTRE": ("centre",),
    "SPRINGS": ("springs",),
    "CRITICAL": ("critical",),
    "REST": ("rest",),
    "STOP": ("stop",),
    "NEUTRAL": ("neutral",),
    "REVERSED": ("reversed",),
    "AUTO": ("auto",),
    "HOLD": ("hold",),
    "NONE": ("none",),
}
LOOKALIKES = {
    "“": '"',
    "”": '"',
    "„": '"',
    "«": '"',
    "»": '"',
    "‘": '"',
    "’": '"',
    "'": '"',
    "–": "-",
    "—": "-",
    "−": "-",
    "×": "x",
    "…": "..",
    "，": ",",
    "；": ";",
    "\u00a0": "a plain space",
}
_WORD = re.compile(r"[A-Za-z][\w-]*|[-+−]?\d[\w.%²µμ]*|\"[^\"\n]*\"?|\S")


def report_unexpected(
    language: Language, source: Source, text: str, base: int, fault: UnexpectedInput, sink: Sink
) -> int:
    """Report one fault found in `text`, which begins at `base` of the source; returns its offset in `text`."""
    if isinstance(fault, UnexpectedToken):
        at = len(text) if fault.token.start_pos is None else int(fault.token.start_pos)
        expected = set(fault.accepts or fault.expected)
    else:
        assert isinstance(fault, UnexpectedCharacters)
        at = int(fault.pos_in_stream or 0)
        expected = set(fault.allowed or ())
    at = min(at, len(text))
    ends = at == len(text) or text[at] in "\n;}#"
    if ends:  # point at the end of what was written, not at the next line
        at = len(text[:at].rstrip(" \t"))
    found = "" if ends else _found(text, at)
    start = min(base + at, len(source.text))
    end = min(start + max(1, len(found)), max(len(source.text), start + 1))
    _report(language, source, Span(source, start, end), text, at, found, expected, sink)
    return at


def _found(text: str, at: int) -> str:
    match = _WORD.match(text, at)
    return match.group() if match else text[at]


def _report(
    language: Language,
    source: Source,
    span: Span,
    text: str,
    at: int,
    found: str,
    expected: set[str],
    sink: Sink,
) -> None:
    words = _keywords(language, expected)
    quantities = [name for name in QUANTITIES if name in expected]
    begins = not text[:at].strip() or text[:at].rstrip(" \t")[-1] in "{\n;"
    if found.startswith('"') and (len(found) == 1 or not found.endswith('"')):
        sink.report(
            codes.UNCLOSED_WORDS, span, "these words have no closing quote", 'write " where the words end'
        )
    elif found in LOOKALIKES:
        instead = LOOKALIKES[found]
        sink.report(
            codes.UNREADABLE_CHARACTER,
            span,
            f"the character {found} (U+{ord(found):04X}) has no meaning here",
            f"write {instead} instead",
        )
    elif quantities and (found[:1].isdigit() or (found[:1] in "-+−" and len(found) > 1)):
        _report_unit(span, found, quantities, sink)
    elif begins and words and found[:1].isalpha():
        hint = _one_of_or_list(found, words)
        sink.report(codes.UNKNOWN_STATEMENT, span, f"`{found}` begins no statement here", hint)
    else:
        _report_general(span, text, at, found, expected, words, quantities, sink)


def _report_unit(span: Span, found: str, quantities: list[str], sink: Sink) -> None:
    wanted, example = QUANTITIES[quantities[0]]
    digits = re.match(r"[-+−]?\d+(?:\.\d+)?", found)
    unit = found[digits.end() :] if digits else found
    if not unit:
        cause = f"{found} has no unit" if quantities[0] != "INT" else f"{found} is not a whole number"
    elif unit in UNITS:
        cause = f"{found} is a {UNITS[unit]}, and {wanted} belongs here"
    else:
        cause = f"{found} is no number that can be read"
    sink.report(codes.WRONG_UNIT, span, cause, f"write {wanted} such as {example}")


def _report_general(
    span: Span,
    text: str,
    at: int,
    found: str,
    expected: set[str],
    words: list[str],
    quantities: list[str],
    sink: Sink,
) -> None:
    wants = [QUANTITIES[name][0] + f" such as {QUANTITIES[name][1]}" for name in quantities]
    wants += [DESCRIBED[name] for name in ("NAME", "STRING", "DATE") if name in expected]
    close = near(found, words) if found[:1].isalpha() else []
    may_end = "_SEP" in expected or "RBRACE" in expected
    where = "after " + _quoted(_before(text, at)) if _before(text, at) else "here"
    if close:
        cause, hint = f"`{found}` is not expected {where}", f"did you mean {one_of(close)}?"
    elif may_end and found:
        cause = f"{_quoted(found)} is not expected {where}"
        more = f"; here may follow {one_of(words)}" if words else ""
        hint = f"end the statement before it with a new line{more}"
    elif wants:
        cause = f"{_listed(wants)} is missing {where}"
        if found:
            cause = f"{_quoted(found)} stands {where}, where {_listed(wants)} belongs"
        hint = f"write {wants[0]}"
    elif words:
        cause = f"the statement stops {where}" if not found else f"{_quoted(found)} is not expected {where}"
        hint = f"write {one_of(words)} there"
    else:
        symbols = [name for name in ("LBRACE", "DOT", "_COMMA", "SLASH", "EQUAL") if name in expected]
        shown = {"LBRACE": "{", "DOT": ".", "_COMMA": ",", "SLASH": "/", "EQUAL": "="}
        wanted = " or ".join(shown[name] for name in symbols) or ".."
        cause = f"{wanted} is missing {where}"
        hint = f"write {wanted} there"
    sink.report(codes.UNEXPECTED_TEXT, span, cause, hint)


def _keywords(language: Language, expected: set[str]) -> list[str]:
    """The fixed words among expected terminals."""
    words: list[str] = []
    for terminal in language.lark.terminals:
        if terminal.name in FIXED_WORDS and terminal.name in expected:
            words += FIXED_WORDS[terminal.name]
        elif terminal.name in expected and isinstance(terminal.pattern, PatternStr):
            word = terminal.pattern.value
            if word[0].isalpha():
                words.append(word)
    return sorted(words)


def _one_of_or_list(found: str, words: list[str]) -> str:
    close = near(found, words)
    return f"did you mean {one_of(close)}?" if close else f"a statement here begins with {one_of(words)}"


def _before(text: str, at: int) -> str:
    """The last word before an offset on the same line."""
    line = text[text.rfind("\n", 0, at) + 1 : at]
    found = _WORD.findall(line)
    return found[-1] if found else ""


def _quoted(text: str) -> str:
    return text if text.startswith('"') else f"`{text}`"


def _listed(parts: list[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} or {parts[-1]}"
