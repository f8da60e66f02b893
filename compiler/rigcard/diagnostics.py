"""Codes with their explanations, and diagnostics, which are values. Nothing here prints."""

from collections.abc import Iterator
from enum import Enum
from typing import NamedTuple

from rigcard.source import Span


class Severity(Enum):
    """An error stops the papers; a warning is printed and does not stop them."""

    ERROR = "error"
    WARNING = "warning"


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
        """Return the explanation by part: Reports, Why, Bad, Good."""
        lines = [line.strip().partition(": ") for line in self.doc.strip().splitlines()]
        return {part: text for part, _, text in lines}


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


class Diagnostic(NamedTuple):
    """One fault: the code, the span, the cause in one lower-case sentence, one remedy.

    `span` is None only if no place in a file exists (an unreadable file); `where` then names the file.
    """

    code: Code
    span: Span | None
    message: str
    hint: str
    related: tuple[Related, ...] = ()
    where: str = ""


class Diagnostics:
    """Collects the diagnostics of a run in the order in which they are found."""

    def __init__(self) -> None:
        self._found: dict[Diagnostic, None] = {}
        self._messages: set[str] = set()
        self._missed: dict[str, list[object]] = {}

    def add(self, diagnostic: Diagnostic) -> None:
        """Keep a diagnostic; a duplicate is dropped."""
        self._found[diagnostic] = None
        self._messages.add(diagnostic.message)

    def has_message(self, message: str) -> bool:
        """Whether a diagnostic with this message is kept."""
        return message in self._messages

    def first_to_miss(self, known: object, name: str) -> bool:
        """Whether this is the first time that a name is missing from these known names; records that it is."""
        among = self._missed.setdefault(name, [])
        if any(known is other for other in among):
            return False
        among.append(known)
        return True

    def report(
        self, code: Code, span: Span | None, message: str, hint: str, *related: Related, where: str = ""
    ) -> None:
        """Build a diagnostic and keep it."""
        self.add(Diagnostic(code, span, message, hint, related, where))

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
