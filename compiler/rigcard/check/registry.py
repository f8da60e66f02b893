"""Turns a function into a rule: `@rule` for the structure of a rig, `@claim` for its computed values."""

from collections.abc import Callable, Iterable
from importlib import import_module
from pkgutil import iter_modules
from typing import Generic, NamedTuple, TypeVar

from rigcard.diagnostics import Code, Diagnostic, Diagnostics, Edit, Related, Severity, define
from rigcard.resolve.links import Links
from rigcard.resolve.model import Rig
from rigcard.source import Span

F = TypeVar("F")
Check = Callable[[F], Iterable["Finding"]]


class Facts(NamedTuple):
    """The input of a structural rule."""

    rig: Rig
    links: Links


class Finding(NamedTuple):
    """The result that a rule yields; the registry adds the code.

    `units` are the units that the fault breaks: a finding on them in a later tier is most likely a consequence.
    `edits` do exactly what the hint says.
    """

    span: Span
    message: str
    hint: str
    related: tuple[Related, ...] = ()
    units: tuple[str, ...] = ()
    edits: tuple[Edit, ...] = ()


class Rule(NamedTuple, Generic[F]):
    """A registered rule. Tier 0 runs first."""

    code: Code
    check: Check[F]
    tier: int


RULES: dict[str, Rule[Facts]] = {}


def rule(code_id: str, severity: Severity, tier: int = 1) -> Callable[[Check[Facts]], Check[Facts]]:
    """Register a structural rule. Its name is the slug, its docstring is the explanation (`diagnostics.PARTS`).

    Tier 0 is for cables, bindings and names, tier 1 for what channels reach, and tier 2 for parts left without
    a purpose.
    """
    return registering(RULES, code_id, severity, tier)


def registering(
    rules: dict[str, Rule[F]], code_id: str, severity: Severity, tier: int = 1
) -> Callable[[Check[F]], Check[F]]:
    """The decorator that `rule` and `claim` share."""

    def register(check: Check[F]) -> Check[F]:
        code = define(code_id, severity, check.__name__, check.__doc__ or _written_doc(check))
        rules[code_id] = Rule(code, check, tier)
        return check

    return register


def _written_doc(check: Check[F]) -> str:
    """The docstring of a rule as it stands in its file: `python -OO` drops the one that the function has."""
    import ast  # costs every other run more than it
    from inspect import getsource
    from textwrap import dedent

    (function,) = ast.parse(dedent(getsource(check))).body
    assert isinstance(function, ast.FunctionDef)
    return ast.get_docstring(function, clean=False) or ""


def load_rules(package: str) -> None:
    """Import every module of a package of rules, sorted by name."""
    folder = import_module(package)
    for found in sorted(iter_modules(folder.__path__), key=lambda module: module.name):
        import_module(f"{package}.{found.name}")


def run(rules: dict[str, Rule[F]], facts: F, diagnostics: Diagnostics) -> None:
    """Run the rules by tier and code. A unit that an earlier tier found broken gets no new findings."""
    broken: set[str] = set()
    for tier in sorted({known.tier for known in rules.values()}):
        breaks: set[str] = set()
        for _, known in sorted(rules.items()):
            if known.tier != tier:
                continue
            for found in known.check(facts):
                if broken.isdisjoint(found.units):
                    diagnostics.add(
                        Diagnostic(
                            known.code,
                            found.span,
                            found.message,
                            found.hint,
                            found.related,
                            edits=found.edits,
                        )
                    )
                    if known.code.severity is Severity.ERROR:
                        breaks.update(found.units)
        broken |= breaks
