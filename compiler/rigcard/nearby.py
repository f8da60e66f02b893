"""Which file near a rig declares a model that no file of the rig declares: the remedy is then a `use` of that file."""

import os
import re
from collections.abc import Iterator

from rigcard.diagnostics import Diagnostics
from rigcard.source import StrPath

MOST_FILES = 200  # that are looked into
MOST_FOLDERS = 100
LARGEST = 1_000_000  # characters of a file that is looked into
_MISSING = re.compile(r"there is no model named `([\w-]+)`")


def name_files(path: StrPath, diagnostics: Diagnostics) -> None:
    """Give each message on a model that is missing the file to use, if one in or below the folder declares it."""
    found = [(one, _MISSING.match(one.message)) for one in diagnostics]
    missing = [(one, match[1]) for one, match in found if match]
    if not missing:
        return
    folder = os.path.dirname(os.fspath(path)) or os.curdir
    texts = dict(_texts(os.fsdecode(folder)))
    for diagnostic, model in missing:
        declares = re.compile(rf"^[ \t]*model[ \t]+{re.escape(model)}[ \t]+\"", re.MULTILINE)
        names = [name for name, text in texts.items() if declares.search(text)]
        if len(names) == 1:
            diagnostics.replace_hint(diagnostic, f'write `use "{names[0]}"`, the file that declares `{model}`')


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
    try:
        return sorted(entry.name for entry in os.scandir(folder) if entry.is_dir(follow_symlinks=False))[:MOST_FOLDERS]
    except OSError:
        return []


def _rig_files(folder: str) -> list[str]:
    try:
        return sorted(
            entry.name
            for entry in os.scandir(folder)
            if entry.name.endswith(".rig") and entry.is_file(follow_symlinks=False)
        )
    except OSError:
        return []
