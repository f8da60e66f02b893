"""The files that `rigcard new --model` writes: one commented model of each role, complete in itself."""

SIGNALS = {  # title, and what it carries
    "serial-16": ('"16-channel serial"', "16 channels"),
    "key-line": ('"Camera key line"', "commands"),
    "pack-power": ('"Pack power"', "power"),
    "picture-line": ('"Picture"', "picture"),
}
HEAD = """\
# A file of stock: it has no rig of its own, and rigs take it up with   use "THIS-FILE"
# Names are for the compiler, "words in quotes" are printed. Put in what the device's manual or your bench says; an
# unknown mass, pulse or current is better left out than guessed. Then run   rigcard check THIS-FILE
"""
HANDSET = """\
model my-handset "My handset" {
  role     handset
  face     180mm x 200mm                # the drawing on the cards; `at` below counts from its lower left corner
  stick    right-across "Right stick, across" left to right  springs within 1%  at 125mm, 105mm
  slider   left-slider  "Left slider"         toward to away                    at 8mm, 150mm
  switch   front-toggle "Front toggle"        away, toward                      at 120mm, 190mm
  channels 12
  pulse    1500us centre, 5us per 1%    # measure yours: 100 % is not the same on every handset
  travel   0%..125% step 5%
  subtrim  -80..80 steps, 80 steps = 12%, shifts whole
  reverse  before subtrim               # in which order its menus take effect: see Handset in the reference
  mix      after travel
  output   -140%..140%                  # where it clips
  mass     1.1kg
}
"""
RECEIVER = """\
model my-receiver "My receiver" {
  role     receiver
  channels 12
  port     p1..p8 out servo  channel 1..8  # a row of pins with one pulse each
  port     bus    out serial-16            # all channels on one lead
  takes    4.5V..8.4V on p1, bus           # it is fed by any of its plus pins
  draws    80mA
  failsafe after 700ms                  # from the loss of the link to failsafe
  mass     0.02kg
}
"""
HEADED = """\
model my-head "My head" {
  role    head
  port    remote in serial-16 needs line-type = "16-channel serial"
  port    power  in pack-power
  takes   10V..26V
  draws   30W peak 110W
  # a sweep goes from one end to the other, its first end at the low level; `rest` is where it stands still
  input   pan  on remote "Pan"  critical { sweeps left to right  rest 0% }
  input   tilt on remote "Tilt" critical { sweeps down to up     rest 0% }
  # bands: what it does at each level; what lies between two bands is never used
  input   lock on remote "Lock"          { locked -130%..-45% rest; live 45%..130% }
  underslung flips pan, tilt            # what turns round when it hangs; leave it out if nothing does
  setting line-type "Basic > Line type"  choices "Nothing", "16-channel serial"
  hazard  moving-parts
  carries 15kg
  mass    8kg
}
"""
ADAPTER = """\
model my-adapter "My camera adapter" {
  role  adapter
  pulse 1500us centre, 5us per 1%       # how it reads a pulse as a level
  port  j1, j2 in  servo
  port  camera out key-line             # over this the states below go as commands of the same names
  takes 4.5V..6V
  draws 120mA
  input iris    on j1 "Iris" { sweeps closed to open }
  input trigger on j2 "Start / stop" {
    run     -70%..-40%
    standby  50%..80%  rest
  }
  mass  0.1kg
}
"""
CAMERA = """\
model my-camera "My camera" {
  role    camera
  port    control in  key-line
  port    power   in  pack-power
  port    sdi     out picture-line
  takes   11.5V..17V
  draws   55W peak 68W
  setting socket "Body > Sockets > Control"  choices "Closed", "Orders"  # the way through its menu
  command standby, run  needs socket = "Orders"
  command iris          needs socket = "Orders", electronic-iris  # and a lens that offers it
  mass    2.9kg
}
"""
LENS = """\
model my-lens "My lens" {
  role   lens
  offers electronic-iris                # if the camera can move its iris; else leave this out
  mass   1.7kg
}
"""
MOTOR = """\
model my-motor "My lens motor" {
  role  motor
  port  signal in servo
  takes 4.5V..8.4V
  draws 200mA peak 900mA
  input turn on signal "Iris ring" { sweeps closed to open }  # its first end at the low level
  mass  0.2kg
}
"""
PACK = """\
model my-pack "My pack" {
  role      pack
  port      out-1 out pack-power
  chemistry lithium-ion
  cells     4
  capacity  6.6Ah at 14.8V              # as printed on it
  supplies  12V..16.8V up to 12A        # near empty, and full
  fuse      15A
  hazard    lithium
  mass      0.8kg
}
"""
REGULATOR = """\
model my-regulator "My regulator" {
  role      regulator
  port      in  in  pack-power
  port      out out pack-power
  takes     9V..26V
  regulates in to out at 5V efficiency 85% up to 3A
  mass      0.1kg
}
"""
CHARGER = """\
model my-charger "My charger" {
  role   charger
  bays   2
  charges in 3.5h                       # all bays at once, from empty
  hazard mains
  mass   1.4kg
}
"""
MAINS = """\
model my-supply "My mains supply" {
  role     mains
  port     out out pack-power
  supplies 24V up to 10A
  hazard   mains
  mass     1.8kg
}
"""
LENS_MOUNT = """\
model my-lens-mount "My lens mount" {
  role lens-mount
  mass 0.3kg
}
"""
MONITOR = """\
model my-monitor "My monitor" {
  role  monitor
  port  sdi   in picture-line
  port  power in pack-power
  takes 7V..17V
  draws 12W
  mass  0.5kg
}
"""
SENDER = """\
model my-sender "My picture sender" {
  role  sender
  port  sdi   in picture-line
  port  power in pack-power
  takes 9V..17V
  draws 8W
  mass  0.3kg
}
"""
MAST = """\
model my-mast "My mast" {
  role    mast
  carries 20kg                          # what its maker allows at its top
  mass    25kg
}
"""
VEHICLE = """\
model my-vehicle "My vehicle" {
  role    vehicle
  carries 60kg                          # what is allowed at its mounting point
  hazard  vehicle
}
"""
OTHER = """\
model my-splitter "My splitter" {
  role   other
  port   in           in  pack-power
  port   out-1, out-2 out pack-power
  passes in to out-1                    # joined inside: the same volts on all three
  passes in to out-2
  mass   0.2kg
}
"""
STARTS = {
    "handset": HANDSET,
    "receiver": RECEIVER,
    "head": HEADED,
    "adapter": ADAPTER,
    "camera": CAMERA,
    "lens": LENS,
    "motor": MOTOR,
    "pack": PACK,
    "regulator": REGULATOR,
    "charger": CHARGER,
    "mains": MAINS,
    "lens-mount": LENS_MOUNT,
    "monitor": MONITOR,
    "sender": SENDER,
    "mast": MAST,
    "vehicle": VEHICLE,
    "other": OTHER,
}


def model_start(role: str) -> str:
    """The file for a role of `STARTS`: the signals that its ports speak, then its model."""
    model = STARTS[role]
    used = {name: said for name, said in SIGNALS.items() if f" {name}" in model}
    first, second = (max(map(len, words), default=0) for words in (used, [title for title, _ in used.values()]))
    signals = "".join(
        f"signal {name:{first}} {title:{second}} carries {what}\n" for name, (title, what) in used.items()
    )
    return "\n".join(part for part in (HEAD, signals, model) if part)
