"""The file that `rigcard new` writes: small, valid, commented, and complete in itself."""

import contextlib
import os

from rigcard.arguments import UsageError, typed
from rigcard.reporting.suggest import did_you_mean

STARTER = """\
# A rig file. It reads aloud: change the names, then run   rigcard build THIS-FILE
# One statement a line. Names are for the compiler, "words in quotes" are printed for people.

rig "New rig" {
  job      "Rehearsal"
  revision "A" on 2026-01-15            # a letter for every frozen state
  crew     operator "Operator"
  paper    a4                           # or: letter
}

# ---- what each kind of device is (usually in a stock file that the rental house keeps: use "stock.rig") ----

signal serial-16 "16-channel serial" carries 16 channels

model my-handset "My handset" {
  role     handset
  stick    right-across "Right stick, across" left to right  springs
  switch   front-toggle "Front toggle"        away, toward
  channels 12
  pulse    1500us centre, 5us per 1%    # measure yours: 100 % is not the same on every handset
  travel   0%..125% step 5%
  subtrim  -80..80 steps, 80 steps = 12%, shifts whole
  reverse  before subtrim
  mix      after travel
  output   -140%..140%
}

model my-receiver "My receiver" {
  role     receiver
  channels 12
  port     bus out serial-16
}

model my-head "My head" {
  role    head
  port    remote in serial-16
  input   pan  on remote "Pan" critical { sweeps left to right  rest 0% }
  input   lock on remote "Lock"         { locked -130%..-45% rest; live 45%..130% }
  setting line-type "Basic > Line type"  choices "Nothing", "16-channel serial"
  hazard  moving-parts
}

# ---- the devices of this rig ----------------------------------------------------------------------------

unit hs is my-handset "Handset" {
  held by operator
  memory  1 "NEW A"                     # as its screen shows it
  channel 1 pan  from right-across  failsafe 0%
  channel 2 lock from front-toggle  failsafe hold
}

unit rx is my-receiver "Receiver" { bound to hs }

unit head is my-head "Head" {
  input pan  from pan
  input lock from lock
  set   line-type "16-channel serial"
}

cable S01 "Receiver to head" { rx.bus to head.remote; length 500mm; jacket 3mm }

# ---- what the operator expects: the compiler proves it or says why not ----------------------------------

expect hs.right-across.right  gives head.pan.right
expect hs.front-toggle.toward gives head.live
"""


def write_start(path: str, role: str) -> str:
    """Write a file to start from: a rig, or the model of a device of some role. Returns what to say.

    Raises UsageError if there is no such role, or if the file is there or cannot be written.
    """
    from rigcard.model_starts import STARTS, model_start

    if role and role not in STARTS:
        hint = did_you_mean(role, STARTS, f"use one of {', '.join(STARTS)}")
        raise UsageError(f"there is no role named {role}", hint)
    try:
        with open(path, "x", encoding="utf-8") as out:
            try:
                out.write(model_start(role) if role else STARTER)
                out.flush()
            except BaseException:  # half a file would be in the way of the next try
                with contextlib.suppress(OSError):
                    os.unlink(path)
                raise
    except FileExistsError:
        raise UsageError(f"{path} is there already", "give another name; nothing was changed") from None
    except OSError as fault:
        raise UsageError(f"{path} cannot be written: {fault.strerror}", "give another place") from None
    return f"{path}: written. Next: rigcard {'check' if role else 'build'} {typed(path)}"
