"""Whether the exact remedy of a faulty statement does what it says: the reader must get past it."""

import re

from lark import UnexpectedInput

from rigcard.diagnostics import Diagnostics
from rigcard.source import Source
from rigcard.syntax.errors import offset_of
from rigcard.syntax.parser import Language

_DIGIT = re.compile(r"\d")
_TWO_WORDS = re.compile(r"[ \t]*[^\s{};]*[ \t]*")  # up to the second word from here


def keep_if_read(
    language: Language, source: Source, bare: str, base: int, start: int, diagnostics: Diagnostics
) -> None:
    """Take the edits off the last diagnostic if the reader, with them, stops within the next two words.

    `bare` is a text in which only the faulty statement and the blocks around it stand, `base` the offset of the text
    in the source, `start` that of the statement in the text.
    """
    last = diagnostics.last
    edits = [(edit.span.start - base, edit.span.end - base, edit.text) for edit in last.edits]
    joined = any("\n" in edit.span.text for edit in last.edits)  # a fault found in lines that were joined
    lost = any(_DIGIT.search(edit.span.text) and not _DIGIT.search(edit.text) for edit in last.edits)
    if joined or lost:  # no remedy takes a number away
        diagnostics.replace(last, last._replace(edits=()))
        return
    if not edits or not all(start <= begin <= end <= len(bare) for begin, end, _ in edits):
        return
    text = bare
    for begin, end, new in sorted(edits, reverse=True):
        text = text[:begin] + new + text[end:]
    begin, end, _ = max(edits)
    after = end + sum(len(new) - (stop - at) for at, stop, new in edits)
    try:
        language.parse(source, text, base)
    except UnexpectedInput as fault:
        next_words = _TWO_WORDS.match(text, after)
        if offset_of(fault, text) <= (next_words.end() if next_words else after):
            diagnostics.replace(last, last._replace(edits=()))
