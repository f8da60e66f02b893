"""Quotes and braces that are clearly forgotten: each is reported, and mended in a copy of the same length."""

import re

from rigcard.diagnostics import Diagnostics, Edit, Related
from rigcard.source import Source, Span
from rigcard.syntax import codes
from rigcard.syntax.cutting import STATEMENTS, TITLED, TO_NEXT_LINE, TOP, pieces
from rigcard.syntax.mending import blank, empty, put

MOST_FAULTS = 50  # that are told of one file
_OUTER = re.compile(rf"(?:{STATEMENTS}|note|hazard)\b")
_BRACKET = re.compile(r"[ \t]*[\[(](?=[ \t]*(?:[A-Za-z#\n]|$))")
_IN_INPUT = re.compile(r"(?:sweeps|reads|learns|without)\b|[A-Za-z][\w-]*[ \t]+[-+−]?\d")
_IN_MODEL = re.compile(r'[ \t]*(?:input|port|setting|command|hazard|role|underslung)[ \t]+["A-Za-z]')
# quoted words that run into the next quote, which was meant to open other words
_RUNS_INTO = re.compile(r'(?:[^"#]*"[^"]*"(?!\w))*?[^"#]*(?<![\w.])("\S[^"{;]+)[{;][^"]*"\w')
_NEVER_BEGUN = re.compile(
    r'(?:[^"#]*(?<![\w.])"[^"]*"(?!\w))*[^"#]*[\w.]"(?=[ \t]*(?:[{;}]|$))'
)  # words that end in a quote
_AFTER_WORDS = re.compile(r"(?:[ \t]|[;}#]|$)")


def mended(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """A text of a source with forgotten quotes and braces added."""
    steps = (
        _round_blocks,
        _close_up_braces,
        _part_words,
        _close_words,
        _open_blocks,
        _close_inputs,
        _keep_open,
    )
    for step in steps:
        text = step(source, text, diagnostics)
    return text


def _line_end(text: str, at: int) -> int:
    """The end of the line that holds an offset."""
    found = text.find("\n", at)
    return found if found >= 0 else len(text)


def _report_never_closed(source: Source, start: int, words: str, diagnostics: Diagnostics) -> None:
    diagnostics.report(
        codes.UNCLOSED_WORDS,
        Span(source, start, start + len(words.rstrip())),
        "these words have no closing quote",
        'write " where the words end',
    )


def _round_blocks(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """Blocks in brackets of another kind."""
    for titled in TITLED.finditer(text):
        opener = _BRACKET.match(text, titled.end())
        if opener is None:
            continue
        at, sign = opener.end() - 1, opener[0][-1]
        closing = _closing(text, at, "])"["[(".index(sign)])
        here = Span(source, at, at + 1)
        edits = (Edit(here, "{"), *([Edit(Span(source, closing, closing + 1), "}")] if closing else []))
        diagnostics.report(
            codes.UNEXPECTED_TEXT,
            here,
            f"`{sign}` opens no block",
            f"write {{ in place of `{sign}`" + (f", and }} in place of `{text[closing]}`" if closing else ""),
            edits=edits if closing else (),
        )
        text = put(text, at, "{")
        text = put(text, closing, "}") if closing else text
    return text


def _closing(text: str, opener: int, sign: str) -> int:
    """Where a bracket closes at a line's end or its beginning, before the next top-level statement; 0 if nowhere."""
    line_start = False
    for at, piece in pieces(text, opener + 1):
        if line_start and TOP.match(text, at):
            return 0
        line_start = piece == "\n"
        if not piece.startswith(('"', "#")) and (found := piece.find(sign)) >= 0:
            return at + found
    return 0


def _close_up_braces(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """Mends a doubled {."""
    if text.count("{") <= text.count("}"):
        return text
    before = ""
    for at, piece in pieces(text):
        if piece == before == "{" and len(diagnostics) < MOST_FAULTS:
            here = Span(source, at, at + 1)
            diagnostics.report(
                codes.UNEXPECTED_TEXT, here, "`{` is not expected after `{`", "remove one of the two"
            )
            text = put(text, at, " ")
        elif piece.strip() or "\n" in piece:
            before = piece
    return text


def _part_words(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """Mends a missing quote in a line with others; without it, quoted and plain text would swap."""
    odd = False
    for line in re.finditer(r"[^\n\\]+", text):
        goes_on, odd = odd, line[0].count('"') % 2 == 1  # words that end here may have begun on the line before
        found = _RUNS_INTO.match(line[0]) if odd else None
        if found and len(diagnostics) < MOST_FAULTS:
            start = line.start() + found.start(1)
            _report_never_closed(source, start, found[1], diagnostics)
            text = put(text, start + len(found[1]) - 1, '"')
        elif odd and not goes_on and (found := _NEVER_BEGUN.match(line[0])):  # the parser reports the words
            text = put(text, line.start() + found.end() - 1, " ")
    return text


def _close_words(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """Mends missing quotes where the quoted words swallow a brace or run on into the next line."""
    read = 0
    for at, piece in _open_words(text):
        if len(diagnostics) >= MOST_FAULTS:
            break
        if at < read:  # on the line that ends the words of the line before
            continue
        end = at + len(piece)
        brace = piece.find("{") if "{" in piece else piece.rfind("}")
        if at and text[at - 1].isalnum():  # a sign for inches, or the quote before it is the missing one
            text = put(text, at, " ") if brace >= 0 else text
        elif brace > 1:
            _report_never_closed(source, at, piece[:brace], diagnostics)
            text = put(text, at + brace - 1, '"')
        elif brace < 0 and (closing := _goes_on(text, end)):
            diagnostics.report(
                codes.UNCLOSED_WORDS,
                Span(source, at, end),
                "these words go on in the next line",
                "write all words on one line, or in two statements",
            )
            text = blank(text, at + 1, closing)
            read = _line_end(text, closing)
    return text


def _open_words(text: str) -> list[tuple[int, str]]:
    return [
        (at, piece)
        for at, piece in pieces(text)
        if piece[0] == '"' and (len(piece) == 1 or piece[-1] != '"' or piece.endswith('\\"'))
    ]


def _goes_on(text: str, end: int) -> int:
    """The end of the words that are open at the end of a line, if the next line closes them; otherwise 0."""
    line = text[end + 1 : _line_end(text, end + 1)]
    closing = line.find('"')
    closes = line.count('"') % 2 and line[:closing].strip() and _AFTER_WORDS.match(line[closing + 1 :])
    return end + 1 + closing if closes else 0


def _open_blocks(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """Mends blocks whose { is missing or stands on the next line."""
    for titled in TITLED.finditer(text):
        if len(diagnostics) >= MOST_FAULTS:
            break
        end = titled.end()
        rest = text[end : _line_end(text, end)].split("#", 1)[0].strip()
        if rest[:1].isalpha() and rest.count("}") - rest.count("{") == 1:
            diagnostics.report(
                codes.UNEXPECTED_TEXT,
                Span(source, end, end + 1),
                f"{{ is missing after {titled[2]}",
                f"write {{ before `{rest.split()[0]}`",
            )
            text = put(text, end, "{")
            continue
        gap = TO_NEXT_LINE.match(text, end)
        at = gap.end() if gap else len(text)
        if text.startswith("{", at):
            diagnostics.report(
                codes.UNEXPECTED_TEXT,
                Span(source, at, at + 1),
                "this { stands on a line of its own",
                f"write it after {titled[2]}, on the same line",
            )
            text = blank(text, end, at)
        elif at < len(text) and _inside(titled[1], text, at):
            diagnostics.report(
                codes.UNEXPECTED_TEXT,
                Span(source, end, end + 1),
                f"{{ is missing after {titled[2]}",
                "write { at the end of the line",
            )
            text = put(blank(text, end, text.find("\n", end)), end, "{")
    return text


def _inside(header: str, text: str, at: int) -> bool:
    """Whether a line continues with a statement that may stand in the block of a header."""
    if header.startswith("input"):
        return bool(_IN_INPUT.match(text, at))
    return text[at].isalpha() and not _OUTER.match(text, at)


def _close_inputs(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """Mends inputs of a model that lack their }."""
    tops = [found.start() for found in re.finditer("^" + TOP.pattern, text, re.MULTILINE)]
    for start, end in zip([0, *tops], [*tops, len(text)], strict=True):
        if len(diagnostics) >= MOST_FAULTS:
            break
        braces = [piece for _, piece in pieces(text[start:end]) if piece in "{}"]
        if braces.count("{") - braces.count("}") == 1 and (found := _open_input(text, start, end)):
            opener, newline = found
            if not re.search(r"(?:^|[{;])[ \t]*input\b[^{;]*$", text[text.rfind("\n", 0, opener) + 1 : opener]):
                continue  # a { in a place where none may stand
            report_unclosed(source, opener, newline + 1, diagnostics)
            text = text[:newline] + "};" + text[newline + 2 :] if text[newline + 1] in " \t" else text
            text = put(text, newline, "}")
    return text


def _open_input(text: str, start: int, end: int) -> tuple[int, int] | None:
    """The { of an input that is still open when its model goes on, and the start of the line that goes on."""
    opened: list[tuple[int, int]] = []  # offset, and the indentation of its line
    newline, indent, line_start = start - 1, 0, True
    for at, piece in pieces(text, start):
        if at >= end:
            break
        if line_start and piece.strip():
            indent = at + len(piece) - len(piece.lstrip()) - newline
            closes = piece == "}" and len(opened) > 1 and at - newline <= opened[0][1] < opened[-1][1]
            if len(opened) > 1 and (_IN_MODEL.match(piece) or closes):
                return opened[-1][0], newline
        if piece == "\n":
            newline = at
        elif piece == "{":
            opened.append((at, indent))
        elif piece == "}" and opened:
            opened.pop()
        line_start = piece == "\n" or (line_start and piece.isspace())
    return None


def _keep_open(source: Source, text: str, diagnostics: Diagnostics) -> str:
    """Mends blocks that are closed too early, and lines whose block was never opened."""
    if text.count("}") <= text.count("{"):
        return text
    opened: list[int] = []
    mended, line_start = -1, True
    for at, piece in pieces(text):
        if len(diagnostics) >= MOST_FAULTS:
            break
        first = at + len(piece) - len(piece.lstrip())
        begins = line_start and not opened and at > mended and piece.strip()[:1].isalpha()
        if begins and (last := _stray_after(text, first)):
            word = piece.split()[0]
            diagnostics.report(
                codes.UNKNOWN_STATEMENT,
                Span(source, first, first + len(word)),
                f"`{word}` stands in no block, though a }} follows in line {source.position(last)[0]}",
                'write the line that opens the block above it, as in `unit NAME is MODEL "TITLE" {`',
            )
            text = empty(text, first, last + 1)
            mended = last
        line_start = piece == "\n" or (line_start and not piece.strip())
        if piece == "{":
            opened.append(at)
        if piece != "}" or not opened or at <= mended:
            continue
        opener = opened.pop()
        gap = TO_NEXT_LINE.match(text, at + 1)
        after = gap.end() if gap else at + 1
        last = _stray_after(text, after) if text[after : after + 1].isalpha() and not opened else 0
        if last and (gap is None or "\n" in text[opener:at]):
            diagnostics.report(
                codes.STRAY_BRACE,
                Span(source, at, at + 1),
                f"this }} closes the block too early; it goes on to line {source.position(last)[0]}",
                "remove this }",
            )
            text = put(text, at, " ")
            opened.append(opener)
    return text


def _stray_after(text: str, start: int) -> int:
    """The offset of a } that closes nothing before the next top-level statement; 0 if there is none."""
    depth, line_start = 0, False
    if _OUTER.match(text, start):
        return 0
    for at, piece in pieces(text, start):
        if line_start and depth == 0 and TOP.match(text, at):
            return 0
        line_start = piece == "\n"
        if piece == "}" and depth == 0:
            return at
        depth += (piece == "{") - (piece == "}")
    return 0


def report_unclosed(source: Source, opener: int, before: int | None, diagnostics: Diagnostics) -> None:
    """Report a block that is open at its end, before the next statement or at the end of the file."""
    begun = (found.span.start for found in diagnostics if found.span and found.span.source is source)
    if source.text[opener] != "{" or any(
        opener <= start and source.text[start : start + 1] == "{" for start in begun
    ):
        return  # told already; or a { after the statement was not expected at all, and has used up its }
    related = []
    where = "the file ends"
    if before is not None:
        related = [Related(Span(source, before, before + 1), "the next statement begins here")]
        where = f"line {source.position(before)[0]}"
    swallowed = re.match(r"[^\n#]*#[^\n]*}", source.text[opener:])
    diagnostics.report(
        codes.UNCLOSED_BLOCK,
        Span(source, opener, opener + 1),
        f"the block opened by this {{ is not closed before {where}",
        "write } before the #; what stands after it is a comment"
        if swallowed
        else "write } where the block ends",
        *related,
    )
