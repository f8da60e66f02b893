"""reportlab without what its surroundings could tell it: the same bytes for everybody, and nobody else's code.

It reads settings from modules of certain names anywhere on the path, the working folder among them, from files in the
home folder and from variables of the environment. The package imports this module before any part of reportlab.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import ModuleType

FOREIGN = ("reportlab.local_rl_mods", "reportlab_mods", "reportlab.local_rl_settings", "reportlab_settings")
VARIABLES = ("RL_", "SOURCE_DATE_EPOCH")  # what its names begin with


@contextmanager
def alone() -> Iterator[None]:
    """Without the variables that reportlab reads."""
    hidden = {name: os.environ.pop(name) for name in list(os.environ) if name.startswith(VARIABLES)}
    try:
        yield
    finally:
        os.environ.update(hidden)


for _name in FOREIGN:  # found already, and empty: nothing of that name is looked for, in the home folder either
    sys.modules[_name] = ModuleType(_name)
with alone():
    import reportlab.rl_config  # noqa: F401 - reads its settings once, here
