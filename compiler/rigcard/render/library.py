"""reportlab without the code and the settings that its surroundings could give it.

It reads settings from modules of certain names anywhere on the path, the working folder among them, and from files in
the home folder. The package imports this module before any part of reportlab. The variables of the environment that
reportlab reads are dropped by the command line.
"""

import sys
from types import ModuleType

FOREIGN = ("reportlab.local_rl_mods", "reportlab_mods", "reportlab.local_rl_settings", "reportlab_settings")

for _name in FOREIGN:  # found already, and empty: nothing of that name is looked for, in the home folder either
    sys.modules[_name] = ModuleType(_name)
