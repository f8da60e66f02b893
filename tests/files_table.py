"""The table of files in DEVELOPERS.md, made from the first sentence of each module's docstring.

`python tests/files_table.py` writes it anew; `test_house.py` holds that it is true.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "compiler" / "rigcard"
PAGE = ROOT / "DEVELOPERS.md"
BEGIN, END = "<!-- files: begin -->\n", "<!-- files: end -->\n"
ORDER = (
    "",
    "syntax",
    "resolve",
    "check",
    "check/rules",
    "solve",
    "solve/learning",
    "solve/power",
    "solve/rules",
    "faults",
    "compare",
    "documents",
    "documents/base",
    "documents/cards",
    "documents/labels",
    "documents/diagram",
    "documents/kit",
    "exports",
    "outputs",
    "render",
    "formatting",
    "reporting",
    "server",
)


def sentence(path: Path) -> str:
    """The first sentence of a module's docstring, on one line."""
    text = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    return re.split(r"(?<=\.)\s", " ".join(text.split("\n\n")[0].split()), maxsplit=1)[0].rstrip(".")


def table() -> str:
    """One heading a folder, one line a file."""
    lines: list[str] = []
    found = {path.parent.relative_to(PACKAGE).as_posix() for path in PACKAGE.rglob("*.py")}
    assert {"" if name == "." else name for name in found} == set(ORDER)
    for folder in ORDER:
        files = sorted(
            (PACKAGE / folder).glob("*.py"), key=lambda path: (path.name != "__init__.py", path.name)
        )
        about = sentence(files[0]) if files[0].name == "__init__.py" else ""
        rows = [f"| `{path.name}` | {sentence(path)} |" for path in files if path.name != "__init__.py"]
        lines += [f"**`{folder or 'rigcard'}/`** {about}", ""]
        lines += ["| file | what it does |", "| --- | --- |", *rows, ""] if rows else []
    return "\n".join(lines)


def with_table(page: str) -> str:
    """The page with its table made anew."""
    before, rest = page.split(BEGIN)
    after = rest.split(END)[1]
    return f"{before}{BEGIN}\n{table()}{END}{after}"


if __name__ == "__main__":
    PAGE.write_text(with_table(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
