"""The order of the house: what may import what, who may print, what is written where, lint and types."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

from rigcard.catalogue import all_codes
from rigcard.diagnostics import Diagnostics
from rigcard.pipeline import build_rig

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "compiler" / "rigcard"
MODULES = sorted(PACKAGE.rglob("*.py"))
SAMPLES = sorted((ROOT / "samples").glob("*.rig"))
PASSES = ("syntax", "resolve", "check", "solve", "faults", "compare", "documents", "exports", "render")
COMMON = {
    "",
    "records",
    "source",
    "diagnostics",
    "words",
    "reporting.suggest",
}  # "" is the package: its version
ABOVE = {
    "cli",
    "answering",
    "building",
    "pipeline",
    "fixing",
    "outputs",
    "own_typeface",
    "catalogue",
    "server",
    "watching",
    "__main__",
}
BESIDE = {
    "formatting": {"syntax"},
    "highlighting": {"syntax"},
}  # no pass, and what of the passes each may import
DRAWING = {"reportlab", "graphviz", "font_source_sans_pro"}


def named(path: Path) -> str:
    """A file as messages show it."""
    return str(path.relative_to(ROOT))


def own_name(path: Path) -> str:
    """The module's name below `rigcard`."""
    return ".".join(path.relative_to(PACKAGE).with_suffix("").parts).removesuffix("__init__").rstrip(".")


def imports(path: Path) -> set[str]:
    """Every module that a file imports, at its top or inside a function, `from a import b` as both a and a.b."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path} imports relatively"
            found.add(node.module or "")
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


def own_imports(path: Path) -> set[str]:
    """The modules of rigcard that a file imports, named below `rigcard`."""
    known = {own_name(module) for module in MODULES}
    below = {
        name.removeprefix("rigcard").lstrip(".") for name in imports(path) if name.split(".")[0] == "rigcard"
    }
    return below & known


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_imports_point_one_way(path: Path) -> None:
    """A pass imports from itself, from passes before it and from the common ground, never from later ones."""
    name = own_name(path)
    stage = name.split(".")[0]
    if stage in ABOVE:
        return
    if stage in PASSES:
        allowed = set(PASSES[: PASSES.index(stage) + 1])
        wrong = {used for used in own_imports(path) if used not in COMMON and used.split(".")[0] not in allowed}
    elif stage in BESIDE:
        allowed = BESIDE[stage] | {stage}
        wrong = {used for used in own_imports(path) if used not in COMMON and used.split(".")[0] not in allowed}
    else:  # the common ground, reporting, output, starter: below all passes
        wrong = {used for used in own_imports(path) if used.split(".")[0] in {*PASSES, *ABOVE, *BESIDE}}

    assert wrong == set()


def test_every_pass_is_there() -> None:
    """The check of the direction above looks at something: each pass has modules and uses an earlier one."""
    for stage, before in zip(PASSES[1:], PASSES, strict=False):
        used = {other.split(".")[0] for path in (PACKAGE / stage).rglob("*.py") for other in own_imports(path)}
        assert used & set(PASSES[: PASSES.index(before) + 1]), stage


def test_only_render_imports_what_draws() -> None:
    """reportlab, graphviz and the typeface are known to `render` alone, and each is known to it."""
    users: dict[str, set[str]] = {name: set() for name in DRAWING}
    for path in MODULES:
        for name in {used.split(".")[0] for used in imports(path)} & DRAWING:
            users[name].add(own_name(path).split(".")[0])

    assert users == {name: {"render"} for name in DRAWING}


def test_only_its_command_knows_the_language_server() -> None:
    """Help for editors costs no other command time, and its library is imported nowhere else."""
    outside = [path for path in MODULES if own_name(path).split(".")[0] != "server"]
    users = {own_name(path) for path in outside if any(used.startswith("server") for used in own_imports(path))}
    library = {own_name(path) for path in outside if imports(path) & {"pygls", "lsprotocol"}}

    assert users == {"cli"}
    assert library == set()


def faults_of_purity(path: Path) -> list[str]:
    """Where a file prints, exits, or reads the environment or the clock."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = [f"imports {name}" for name in imports(path) & {"time", "logging", "locale", "random"}]
    for node in ast.walk(tree):
        if (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Name)
            and node.func.id in ("print", "input")
        ):
            found.append(f"{node.lineno}: calls {node.func.id}")
        if isinstance(node, ast.Attribute):
            text = ast.unparse(node)
            if re.fullmatch(
                r"os\.(environ|getenv|getcwd)|sys\.(argv|stdout|stderr|exit)|.*\b(datetime|date)\.(now|today|utcnow)"
                r"|Path\.(cwd|home)",
                text,
            ):
                found.append(f"{node.lineno}: uses {text}")
    return found


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_only_the_command_line_prints_or_reads_the_world(path: Path) -> None:
    """No print, clock, environment or folder of the process outside `cli` and its `reporter`.

    `__main__` may pass on its exit code; `watching` waits, and the editor's files ask how old a file is.
    """
    if own_name(path) in ("cli", "reporter"):
        assert faults_of_purity(path), "this check finds nothing even where there is something"
        return
    # `python -m rigcard` puts the working folder on the path: only the start of the program can take it off
    allowed = {"__main__": {"sys.exit", "os.getcwd"}, "watching": {"time"}, "server.project": {"time"}}.get(
        own_name(path), set()
    )

    assert [fault for fault in faults_of_purity(path) if fault.split()[-1] not in allowed] == []


def built_by_position(source: str) -> list[int]:
    """The lines where a record of many fields is made from values without their names."""
    return [
        node.lineno
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in ("Rig", "Model", "Unit", "Channel", "Input", "Cable", "Solved", "ChannelResult")
        and node.args
    ]


def test_large_records_are_built_by_name() -> None:
    """Two values of one type that change places would pass the types."""
    found = {named(path): built_by_position(path.read_text(encoding="utf-8")) for path in MODULES}

    assert {name: lines for name, lines in found.items() if lines} == {}
    assert built_by_position("Unit(name, title)") == [1], (
        "the check finds nothing even where there is something"
    )


def test_codes_are_in_order() -> None:
    """Codes and names are used once; a name says the defect in one to five words, not that something is invalid."""
    codes = all_codes()
    slugs = [code.slug for code in codes.values()]

    assert len(set(slugs)) == len(slugs) > 50
    for code_id, code in codes.items():
        assert re.fullmatch(r"RC[1-5]\d\d", code_id)
        assert re.fullmatch(r"[a-z0-9]+(_[a-z0-9]+){0,5}", code.slug), code.slug
        assert not set(code.slug.split("_")) & {"invalid", "error", "check", "bad", "validate", "test"}, (
            code.slug
        )


def test_every_rule_of_the_grammar_has_its_class() -> None:
    """Classes of the tree and rules of the grammar have the same names, but for values and inlined rules."""
    grammar = (ROOT / "grammar" / "rig.lark").read_text(encoding="utf-8")
    rules = {
        name for name in re.findall(r"^[?!]*([a-z_][a-z_0-9]*)(?:\{[^}]*\})?(?:\.-?\d+)?\s*:", grammar, re.M)
        if not name.startswith("_")
    }  # fmt: skip
    tree = ast.parse((PACKAGE / "syntax" / "tree.py").read_text(encoding="utf-8"))
    classes = {
        re.sub(r"(?<!^)(?=[A-Z])", "_", node.name).lower()
        for node in tree.body
        if isinstance(node, ast.ClassDef)
    }

    assert len(rules) > 80
    assert classes - {"name", "words", "number"} == rules - {"unreadable"}


def undocumented(path: Path) -> list[str]:
    """Public modules, classes and functions of a file that do not say what they are for."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = [] if ast.get_docstring(tree) else ["the module"]
    around: list[ast.Module | ast.ClassDef] = [tree]
    for block in around:
        for node in block.body:
            if isinstance(node, ast.ClassDef | ast.FunctionDef) and not node.name.startswith("_"):
                if not ast.get_docstring(node):
                    found.append(f"{node.lineno}: {node.name}")
                if isinstance(node, ast.ClassDef):
                    around.append(node)
    return found


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_everything_public_is_documented(path: Path) -> None:
    """A class of `syntax/tree.py` is the rule of the same name, so there the module says it for all."""
    found = undocumented(path)

    assert [entry for entry in found if own_name(path) != "syntax.tree" or entry == "the module"] == []


@pytest.mark.parametrize("path", [*MODULES, *sorted((ROOT / "grammar").glob("*.lark"))], ids=named)
def test_no_file_is_long(path: Path) -> None:
    """A file that one cannot hold in the head has two subjects (600 lines: common practice, no source).

    The tree has a class a rule of the grammar and nothing to understand: it may be longer.
    """
    most = 1000 if path.name == "tree.py" else 600
    assert len(path.read_text(encoding="utf-8").splitlines()) <= most


TEXTS = [
    path
    for place in ("compiler", "grammar", "samples", "README.md", "DEVELOPERS.md", "pyproject.toml")
    for path in ([ROOT / place] if (ROOT / place).is_file() else sorted((ROOT / place).rglob("*")))
    if path.suffix in (".py", ".lark", ".md", ".rig", ".toml")
]
FORBIDDEN = re.compile(
    r"(?<![\w.])/(?:work|root|home|tmp|opt|Users)\b|\bTODO\b|\bFIXME\b|\bXXX\b",
    re.I,
)


@pytest.mark.parametrize("path", TEXTS, ids=named)
def test_no_file_speaks_of_where_it_was_made(path: Path) -> None:
    """No folder of a machine, nothing put off."""
    assert FORBIDDEN.findall(path.read_text(encoding="utf-8")) == []


def test_the_search_for_forbidden_words_finds_them() -> None:
    """The pattern above matches what it is for."""
    for text in ("see /Users/x", '"/root/x"', "/home/me", "TODO later"):
        assert FORBIDDEN.search(text), text
    assert not FORBIDDEN.search("the framework/home of all")


@pytest.mark.parametrize("path", SAMPLES, ids=named)
def test_samples_compile_without_a_diagnostic(path: Path) -> None:
    """No error, no warning, up to the last paper."""
    diagnostics = Diagnostics()

    assert build_rig(path, diagnostics)
    assert list(diagnostics) == []


def test_every_stock_file_is_used_by_a_sample() -> None:
    """A stock file that no sample uses would not be compiled by the test above."""
    used = {
        name for path in SAMPLES for name in re.findall(r'use "stock/(.*?)"', path.read_text(encoding="utf-8"))
    }
    stock = {path.name for path in (ROOT / "samples" / "stock").iterdir()}
    inner = {
        name
        for path in (ROOT / "samples" / "stock").iterdir()
        for name in re.findall(r'use "(.*?)"', path.read_text(encoding="utf-8"))
    }

    assert stock
    assert stock - used - inner == set()


def run(*command: str) -> subprocess.CompletedProcess[str]:
    """A command at the top of the repository."""
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=300, check=False)


def test_the_top_of_the_repository_is_tidy() -> None:
    """Only the agreed files and folders are kept at the top; dot-files are free."""
    if not (ROOT / ".git").exists():
        pytest.skip("not a clone")
    top = {name.split("/")[0] for name in run("git", "ls-files").stdout.splitlines()}

    assert {"README.md", "DEVELOPERS.md", "pyproject.toml", "compiler", "grammar"} <= top
    assert {name for name in top if not name.startswith(".")} <= {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "compiler",
        "grammar",
        "tests",
        "samples",
        "out",
    }


@pytest.mark.slow
@pytest.mark.parametrize(
    "command",
    [
        ("ruff", "check", "--no-cache", "compiler", "grammar", "tests"),
        ("ruff", "format", "--no-cache", "--check", "compiler", "grammar", "tests"),
        ("mypy",),
    ],
    ids=["lint", "format", "types"],
)
def test_tools_find_nothing(command: tuple[str, ...]) -> None:
    """Lint, format and strict types pass."""
    done = run(sys.executable, "-m", *command)

    assert done.returncode == 0, done.stdout + done.stderr
