"""The codes of the second pass."""

from rigcard.diagnostics import Severity, define

UNKNOWN_NAME = define(
    "RC201",
    Severity.ERROR,
    "unknown_name",
    """
    Reports: a name that nothing in the rig or its stock files has.
    Why: a name is a promise that the thing exists; a misspelt one would leave a gap on a card.
    Bad: channel 1 pan from rigth-across
    Good: channel 1 pan from right-across
    """,
)
DOUBLED_NAME = define(
    "RC202",
    Severity.ERROR,
    "doubled_name",
    """
    Reports: two things of one kind with the same name.
    Why: a card or a label that names one of them could mean either.
    Bad: unit cam is camera-c "A camera" and unit cam is camera-c "B camera"
    Good: unit cam-a is camera-c "A camera" and unit cam-b is camera-c "B camera"
    """,
)
DOUBLED_STATEMENT = define(
    "RC203",
    Severity.ERROR,
    "doubled_statement",
    """
    Reports: a statement that stands twice in a block, where it may stand once.
    Why: two memories or two lengths contradict each other, and the tool does not guess.
    Bad: memory 4 "GORGE C"; memory 5 "GORGE D"
    Good: memory 5 "GORGE D"
    """,
)
MISSING_STATEMENT = define(
    "RC204",
    Severity.ERROR,
    "missing_statement",
    """
    Reports: a block without a statement that it needs.
    Why: the compiler cannot compute a handset without its pulse or travel, and it never assumes them.
    Bad: model handset-12 "Handset" { role handset; channels 12 }
    Good: model handset-12 "Handset" { role handset; channels 12; pulse 1500us centre, 5us per 1% ... }
    """,
)
MISPLACED_STATEMENT = define(
    "RC205",
    Severity.ERROR,
    "misplaced_statement",
    """
    Reports: a statement in the block of a unit or model whose role cannot have it.
    Why: a camera has no channels to dial in, and a lens is bound to no handset.
    Bad: unit cam is camera-c "Camera" { memory 4 "GORGE C" }
    Good: unit hs is handset-12 "Handset" { memory 4 "GORGE C" }
    """,
)
OUT_OF_RANGE = define(
    "RC206",
    Severity.ERROR,
    "out_of_range",
    """
    Reports: a value that the model cannot be set to: outside its range or between its steps.
    Why: the handset would refuse the number on the card.
    Bad: channel 5 record from left-flip travel 65% / 150%
    Good: channel 5 record from left-flip travel 65% / 125%
    """,
)
BACKWARD_RANGE = define(
    "RC207",
    Severity.ERROR,
    "backward_range",
    """
    Reports: a range whose first value is not below its second.
    Why: nothing lies inside it, so no level could ever be read as that state.
    Bad: standby 78%..50%
    Good: standby 50%..78%
    """,
)
OVERLAPPING_BANDS = define(
    "RC208",
    Severity.ERROR,
    "overlapping_bands",
    """
    Reports: two decision bands of one input that share levels.
    Why: in the shared part nobody can say which state the device takes.
    Bad: standby 50%..78%; run 70%..95%
    Good: standby 50%..78%; run -66%..-38%
    """,
)
UNKNOWN_COLOUR = define(
    "RC212",
    Severity.ERROR,
    "unknown_colour",
    """
    Reports: a conductor colour that is no letter code of IEC 60757, or codes joined in another order.
    Why: the person at the bench opens the plug and looks for that colour; two spellings are two colours.
    Bad: pin 1 to 2 colour BURD
    Good: pin 1 to 2 colour RDBU
    """,
)
DOUBLED_PIN = define(
    "RC213",
    Severity.ERROR,
    "doubled_pin",
    """
    Reports: two lines of a lead that join the same two pins.
    Why: one of them was meant for another core, which would be missing from the table on the card.
    Bad: pin 1 to 1; pin 1 to 1
    Good: pin 1 to 1; pin 2 to 2
    """,
)
SIGNAL_NOT_PASSED = define(
    "RC209",
    Severity.ERROR,
    "signal_not_passed",
    """
    Reports: a `passes` between two ports that one signal cannot go through: other signals, other ways, or twice.
    Why: the signal that leaves a splitter is the one that comes in; a unit that changes the signal is not a splitter.
    Bad: port in in servo; port a out line-16; passes in to a
    Good: port in in servo; port a, b out servo; passes in to a, b
    """,
)
TOGGLED_STATE = define(
    "RC222",
    Severity.ERROR,
    "toggled_state",
    """
    Reports: an `expect` of a state that a command only toggles.
    Why: each press of a key that toggles changes the state; no position of a control means run or standby.
    Bad: expect hs.button.on gives cam.run, where the camera knows `command start-stop toggles run, standby`
    Good: expect hs.button.on gives cam.start-stop
    """,
)
PARTLY_NAMED = define(
    "RC223",
    Severity.ERROR,
    "partly_named",
    """
    Reports: a position, a state or an input that is named with too few parts, or with too many.
    Why: two handsets may have controls of one name; the whole name tells which hand moves what.
    Bad: expect right-across.right gives head.pan.right
    Good: expect hs.right-across.right gives head.pan.right
    """,
)
STATED_AND_AUTO = define(
    "RC224",
    Severity.ERROR,
    "stated_and_auto",
    """
    Reports: a setting of a channel that is stated and left to the compiler on the same line.
    Why: one of the two would be dropped in silence.
    Bad: channel 1 pan from right-across travel 80% / 80% travel auto failsafe 0%
    Good: channel 1 pan from right-across travel 80% / 80% failsafe 0%
    """,
)
SPARE_IN_USE = define(
    "RC221",
    Severity.ERROR,
    "spare_in_use",
    """
    Reports: a spare unit that a lead, a claim or another unit names, or that stands in for what it cannot replace.
    Why: a spare lies in its case, connected to nothing, until it replaces its unit.
    Bad: unit rx-s is receiver-8 "Spare receiver" spare for rx, and cable W9 "Lead" { rx-s.p1 to bridge.one }
    Good: unit rx-s is receiver-8 "Spare receiver" spare for rx { case "Case 1" }
    """,
)
POWER_PORT = define(
    "RC210",
    Severity.ERROR,
    "power_port",
    """
    Reports: a power statement of a model without a port for it, or two that do not agree on a port.
    Why: volts and amperes are followed from port to port; power cannot come in and leave by the same one.
    Bad: passes power to power
    Good: passes power to aux
    """,
)
WIRE_SIZE = define(
    "RC211",
    Severity.ERROR,
    "wire_size",
    """
    Reports: a cross-section that flexible copper wire is not made in.
    Why: the resistance is taken from the standard's table, and only its sizes are in it.
    Bad: wire 1.4mm2
    Good: wire 1.5mm2
    """,
)
DAY_TOO_LONG = define(
    "RC230",
    Severity.WARNING,
    "day_too_long",
    """
    Reports: a `day`, or a `night`, of more than 24 hours.
    Why: the compiler counts the packs for this time; minutes written as hours turn one pack into sixty.
    Bad: day 600h
    Good: day 600min
    """,
)
MOUNTED_TOO_DEEP = define(
    "RC231",
    Severity.ERROR,
    "mounted_too_deep",
    """
    Reports: a chain of more than 50 units in which each is mounted on the next.
    Why: nobody builds such a tower; a program that wrote the file made a mistake.
    Bad: unit u51 is box-1 "Box" { mounted on u50 }, which is mounted on u49, and so on
    Good: unit u51 is box-1 "Box" { mounted on head }
    """,
)
TOO_MANY_MIXES = define(
    "RC232",
    Severity.ERROR,
    "too_many_mixes",
    """
    Reports: a channel that more than 32 mixes go into.
    Why: no handset has so many mixes, and the compiler computes every level of the channel through each of them.
    Bad: forty lines such as mix tilt into pan at 5%
    Good: mix tilt into pan at 50%
    """,
)
AMBIGUOUS_STATE = define(
    "RC214",
    Severity.ERROR,
    "ambiguous_state",
    """
    Reports: an `expect` that names a state which several inputs of the unit have.
    Why: the claim would be proven on one of them, and the operator may mean the other.
    Bad: expect hs.right-across.left gives head.left, for a head whose `pan` and `roll` both sweep left to right
    Good: expect hs.right-across.left gives head.pan.left
    """,
)
QUESTION_OPEN = define(
    "RC220",
    Severity.WARNING,
    "question_open",
    """
    Reports: an `open` line, which is a question that nobody has answered yet.
    Why: nobody may take an open question for a checked fact; the papers are a draft until it is answered.
    Bad: open "Which lens?"
    Good: the unit of the lens, and no `open` line
    """,
)
UNKNOWN_LEFT = define(
    "RC240",
    Severity.ERROR,
    "unknown_left",
    """
    Reports: a unit of a model that leaves something unknown which its readings do not settle.
    Why: a value that is not known would have to be guessed, and a wrong guess moves a level by a third of the travel.
    Bad: reverse unknown, in the model of a handset without a `reading`
    Good: reverse unknown, and reading travel 85% / 30% subtrim 80 reversed at top-rocker.toward is 1410us
    """,
)
UNKNOWN_IN_STOCK = define(
    "RC241",
    Severity.WARNING,
    "unknown_in_stock",
    """
    Reports: in a file of models, one that leaves something unknown which its readings do not settle.
    Why: no rig can use it yet; the readings on the bench card settle it.
    Bad: mix unknown, in the model of a handset without a `reading`
    Good: mix unknown, and reading travel 85% / 30% at top-rocker.middle mix 50% of front-toggle.toward is 1575us
    """,
)
READINGS_APART = define(
    "RC242",
    Severity.ERROR,
    "readings_apart",
    """
    Reports: readings of one value of a device that contradict each other.
    Why: one of them was taken or typed wrongly, and no value is right for both.
    Bad: reading raised to key-a at 1700us and reading lowered to key-a at 1650us, with key-b above it
    Good: reading raised to key-a at 1700us and reading lowered to key-a at 1760us, with key-b above it
    """,
)
