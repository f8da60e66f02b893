"""A process with rigcard loaded that forks for each command: hundreds are run, and to start takes longer than to check.

Each line of its input asks for a command as JSON: arguments, folder, environment, files for the three streams. It
answers with the number of the process, then with its exit code (negative: the signal that ended it).
"""

from __future__ import annotations

import gc
import json
import os
import pkgutil
import sys
from importlib import import_module
from typing import Any

import rigcard
from rigcard.__main__ import start


def become(asked: dict[str, Any]) -> None:
    """Make this process what Python would have started."""
    for descriptor, name in enumerate(asked["streams"]):
        opened = os.open(name, os.O_WRONLY if descriptor else os.O_RDONLY)
        os.dup2(opened, descriptor)
        os.close(opened)
    os.chdir(asked["folder"])
    os.environ.clear()
    os.environ.update(asked["environment"])
    sys.argv = ["rigcard", *(os.fsdecode(bytes.fromhex(word)) for word in asked["arguments"])]


def serve() -> None:
    """Fork for each line; return in the child, ready to run its command, or at the end of the input."""
    asks, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb", buffering=0)
    for line in asks:
        child = os.fork()
        if child == 0:
            asks.close()
            answers.close()
            become(json.loads(line))
            try:
                start()
            except SystemExit as ended:
                sys.stdout.flush()
                sys.stderr.flush()
                os._exit(
                    int(ended.code or 0)
                )  # taking down all that was loaded takes longer than most commands
        answers.write(b"%d\n" % child)
        answers.write(b"%d\n" % os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))


if __name__ == "__main__":
    for module in pkgutil.walk_packages(rigcard.__path__, "rigcard."):
        if not module.name.startswith("rigcard.server"):
            import_module(module.name)
    gc.freeze()  # what is loaded need not be searched for cycles in each child
    serve()
