"""What makes a function a rule: `@rule` for the structure of a rig, `@claim` for its computed values."""

from collections.abc import Callable, Iterable, Iterator
from importlib import import_module
from pkgutil import iter_modules
from typing import NamedTuple, TypeVar

from rigcard.diagnostics import Code, Diagnostic, Related, Severity, Sink, define
from rigcard.resolve.links import Links
from rigcard.resolve.model import Rig
from rigcard.source import Span

F = TypeVar("F")


class Facts(NamedTuple):
    """What a structural rule judges."""

    rig: Rig
    links: Links


class Finding(NamedTuple):
    """What a rule yields; the registry adds the code."""

    span: Span
    message: str
    hint: str
    related: tuple[Related, ...] = ()


Check = Callable[[F], Iterable[Finding]]
RULES: dict[str, tuple[Code, Check[Facts]]] = {}


def rule(code_id: str, severity: Severity) -> Callable[[Check[Facts]], Check[Facts]]:
    """Register a structural rule. Its name is the slug, its docstring the explanation (see `diagnostics.PARTS`)."""
    return registering(RULES, code_id, severity)


def registering(
    rules: dict[str, tuple[Code, Check[F]]], code_id: str, severity: Severity
) -> Callable[[Check[F]], Check[F]]:
    """The decorator behind `rule` and `claim`."""

    def register(check: Check[F]) -> Check[F]:
        code = define(code_id, severity, check.__name__, check.__doc__ or "")
        rules[code_id] = (code, check)
        return check

    return register


def load_rules(package: str) -> None:
    """Import every module of a package of rules, in order of name."""
    folder = import_module(package)
    for found in sorted(iter_modules(folder.__path__), key=lambda module: module.name):
        import_module(f"{package}.{found.name}")


def run(rules: dict[str, tuple[Code, Check[F]]], facts: F, sink: Sink) -> None:
    """Run rules in the order of their codes."""
    for _, (code, check) in sorted(rules.items()):
        for diagnostic in _diagnostics(code, check(facts)):
            sink.add(diagnostic)


def _diagnostics(code: Code, findings: Iterable[Finding]) -> Iterator[Diagnostic]:
    for found in findings:
        yield Diagnostic(code, found.span, found.message, found.hint, found.related)
