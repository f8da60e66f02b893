"""Codes with their explanations, and diagnostics, which are values. Nothing here prints."""

from collections.abc import Iterator
from enum import Enum
from typing import NamedTuple

from rigcard.source import Span


class Severity(Enum):
    """An error stops the papers; a warning is printed and does not stop them; a note is no fault."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


class Code(NamedTuple):
    """A kind of fault. `doc` has the parts Reports, Why, Bad and Good that `rigcard explain` shows.

    `outside` is "file" or "program": it says what a fault of this kind is about if it has no span in a rig,
    because something could not be read, placed or written.
    """

    id: str
    severity: Severity
    slug: str
    doc: str
    outside: str = ""

    def parts(self) -> dict[str, str]:
        """The explanation by part: Reports, Why, Bad, Good. A part may go on over several lines."""
        found: dict[str, str] = {}
        for line in self.doc.strip().splitlines():
            part, colon, text = line.strip().partition(": ")
            if f"{part}:" in PARTS and colon:
                found[part] = text
            else:
                found[[*found][-1]] += f" {line.strip()}"
        return found


CODES: dict[str, Code] = {}
PARTS = ("Reports:", "Why:", "Bad:", "Good:")


def define(code_id: str, severity: Severity, slug: str, doc: str, *, outside: str = "") -> Code:
    """Register a code.

    Raises ValueError on a used id or slug, or on a missing part; these are mistakes of a developer.
    """
    if code_id in CODES or any(code.slug == slug for code in CODES.values()):
        raise ValueError(f"{code_id} {slug} is used twice")
    missing = [part for part in PARTS if part not in doc]
    if missing:
        raise ValueError(f"{code_id} lacks {', '.join(missing)}")
    CODES[code_id] = code = Code(code_id, severity, slug, doc, outside)
    return code


class Related(NamedTuple):
    """A second place that helps to explain the fault."""

    span: Span
    label: str


class Edit(NamedTuple):
    """A text that takes the place of what is written; of nothing where the span is empty."""

    span: Span
    text: str


class Missing(NamedTuple):
    """What a file uses and no file declares: its kind, such as "model", and its name."""

    kind: str
    name: str


class Diagnostic(NamedTuple):
    """One fault: the code, the span, the cause in one lower-case sentence, one remedy.

    `span` is None only if no place in a file exists (an unreadable file); `where` then names the file.
    `edits` do exactly what the hint says; empty where a person has to choose. `missing`: what the fault is about, if
    that is a name which nothing has.
    """

    code: Code
    span: Span | None
    message: str
    hint: str
    related: tuple[Related, ...] = ()
    where: str = ""
    edits: tuple[Edit, ...] = ()
    missing: Missing | None = None


class Diagnostics:
    """Collects the diagnostics of a run in the order in which they are found."""

    def __init__(self) -> None:
        self._found: dict[Diagnostic, None] = {}
        self._messages: set[str] = set()
        self._missed: dict[str, list[tuple[object, str]]] = {}
        self._respelt: dict[str, Diagnostic] = {}  # by message, those with one edit: a name in place of another

    def add(self, diagnostic: Diagnostic) -> None:
        """Keep a diagnostic; a duplicate is dropped."""
        self._found[diagnostic] = None
        self._messages.add(diagnostic.message)
        if len(diagnostic.edits) == 1:
            self._respelt[diagnostic.message] = diagnostic

    @property
    def last(self) -> Diagnostic:
        """The diagnostic that was found last; there must be one."""
        return next(reversed(self._found))

    def replace(self, old: Diagnostic, new: Diagnostic) -> None:
        """Keep another diagnostic in the place of one, with other edits or another remedy."""
        self._respelt.pop(old.message, None)
        self._found = {new if found is old else found: None for found in self._found}

    def has_message_with(self, part: str) -> bool:
        """Whether a diagnostic is kept whose message has this part."""
        return any(part in message for message in self._messages)

    def first_to_miss(self, known: object, name: str, message: str, span: Span) -> bool:
        """Whether nobody has missed a name among just these things before; from now on somebody has, with a message.

        The exact remedy of the first is then one for this place too.
        """
        among = self._missed.setdefault(name, [])
        said = next((said for other, said in among if other is known), None)
        if said is None:
            among.append((known, message))
            said = message
            if message not in self._messages:
                return True
        first = self._respelt.get(said)
        if first:
            del self._found[first]
            more = first._replace(edits=(*first.edits, Edit(span, first.edits[0].text)))
            self._respelt[said] = more
            self._found[more] = None
        return False

    def report(
        self,
        code: Code,
        span: Span | None,
        message: str,
        hint: str,
        *related: Related,
        where: str = "",
        edits: tuple[Edit, ...] = (),
        missing: Missing | None = None,
    ) -> None:
        """Build a diagnostic and keep it."""
        self.add(Diagnostic(code, span, message, hint, related, where, edits, missing))

    def __iter__(self) -> Iterator[Diagnostic]:
        return iter(self._found)

    def __len__(self) -> int:
        return len(self._found)

    def failed(self) -> bool:
        """Whether an error stops the next pass."""
        return any(found.code.severity is Severity.ERROR for found in self._found)

    def refuses(self, strict: bool) -> bool:
        """Whether a rig counts as faulty: it has an error or, where warnings count (`strict`), anything."""
        return self.failed() or (strict and len(self) > 0)

    def sorted(self) -> list[Diagnostic]:
        """Sort by file and position; diagnostics without a span come first."""
        return sorted(
            self._found,
            key=lambda d: (*d.span.sort_key(), d.code.id) if d.span else ("", -1, -1, d.code.id),
        )
