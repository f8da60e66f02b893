"""Which file near a rig declares a model that no file of the rig declares: the remedy is then a `use` of that file."""

import os
import re
from collections.abc import Callable, Iterator

from rigcard.diagnostics import Diagnostics
from rigcard.source import StrPath

MOST_FILES = 200  # that are looked into
MOST_FOLDERS = 100  # below the folder of the rig
LARGEST = 1_000_000  # characters of a file that is looked into


def name_files(path: StrPath, diagnostics: Diagnostics) -> None:
    """Give each message on a model that is missing the file to use, if one in or below the folder declares it."""
    missing = [(one, one.missing.name) for one in diagnostics if one.missing and one.missing.kind == "model"]
    texts = dict(_texts(os.path.dirname(os.fsdecode(path)) or os.curdir)) if missing else {}
    for diagnostic, model in missing:
        declares = re.compile(rf"^[ \t]*model[ \t]+{re.escape(model)}[ \t]+\"", re.MULTILINE)
        names = [name for name, text in texts.items() if declares.search(text)]
        if len(names) == 1:
            hint = f'write `use "{names[0]}"`, the file that declares `{model}`'
            diagnostics.replace(diagnostic, diagnostic._replace(hint=hint, edits=()))


def _texts(folder: str) -> Iterator[tuple[str, str]]:
    """The texts of rig files in a folder and in the folders in it, by their path from it."""
    count = 0
    for inner in ("", *_folders(folder)):
        for name in _rig_files(os.path.join(folder, inner)):
            count += 1
            if count > MOST_FILES:
                return
            try:
                with open(os.path.join(folder, inner, name), encoding="utf-8", errors="replace") as file:
                    yield f"{inner}/{name}" if inner else name, file.read(LARGEST)
            except OSError:
                continue


def _folders(folder: str) -> list[str]:
    """The folders in a folder, links left out."""
    return [name for name in _names(folder) if _is(os.path.isdir, folder, name)][:MOST_FOLDERS]


def _rig_files(folder: str) -> list[str]:
    """The rig files in a folder, links left out."""
    return [name for name in _names(folder) if name.endswith(".rig") and _is(os.path.isfile, folder, name)]


def _names(folder: str) -> list[str]:
    try:
        return sorted(name for name in os.listdir(folder) if not name.startswith("."))
    except OSError:
        return []


def _is(kind: Callable[[str], bool], folder: str, name: str) -> bool:
    path = os.path.join(folder, name)
    return kind(path) and not os.path.islink(path)
