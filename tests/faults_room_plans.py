"""Small random rigs as plans, which turn into text, so that a mistake can be made in the text."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from hypothesis import strategies as st

MODELS = """rig "Plan" { revision "A" }
signal line "Serial" carries 16 channels counts 0 to 2000 over -100% to 100% field 0 to 2400
signal keys "Key line" carries commands
signal dc "Power" carries power
model hm "Handset" {
  role handset
  stick  pan "Pan stick" left to right springs trims 6%
  stick  tilt "Tilt stick" toward to away springs
  slider fader "Fader" toward to away
  switch two "Two" away, toward
  switch a "A" away, middle, toward
  switch b "B" away, middle, toward
  channels 8
  pulse 1500us centre, 5us per 1%
  travel 0%..125% step 5%
  subtrim -80..80 steps, 80 steps = 16%, shifts whole
  reverse before subtrim
  mix after travel
  output -140%..140%
  has rate, expo, slow
}
model rm "Receiver" {
  role receiver; channels 8
  port p1..p6 out servo channel 1..6
  port bus, bus2 out line
  port power in dc
  takes 4V..9V on power
  shows "link light" when linked
}
model pk "Pack" { role pack; port o1, o2 out dc; supplies 5V..8V up to 10A }
model bx "Bridge" {
  role adapter
  port j1, j2, j3 in servo
  port k out keys
  port power in dc
  takes 4V..9V on power
  draws 50mA on power
  input iris on j1 "Iris" { sweeps closed to open }
  input tools on j2 "Tools" { one -140%..-40%; none -39%..39% rest; other 40%..140%LEARN }
  input rec on j3 "Record" { run -140%..-10%; standby 10%..140% rest; without pulses gives SILENCE }
}
model cm "Camera" {
  role camera
  port control in keys
  port power in dc
  takes 4V..9V on power
  setting port "Port" choices "Off", "Orders", "Other"
  setting one "Key 1"
  setting other "Key 2" default "Zoom"
  command run, standby, iris needs port = "Orders"
  command one needs port = "Orders" does one
  command other needs port = "Orders" does other
  shows "tally" when run
}
model hd "Head" {
  role head
  port remote in line needs type = "Serial"
  port power in dc
  takes 4V..9V on power
  setting type "Type" choices "None", "Serial"
  setting feel "Feel" choices "Soft", "Hard"
  input pan on remote "Pan" critical { sweeps left to right rest 0% dead-band 3% full 40deg/s }
  input tilt on remote "Tilt" critical { sweeps down to up rest 0% }
  input mode on remote "Mode" { off -140%..-60% rest holds pan, tilt; slow -30%..30%; live 60%..140% }
  input speed on remote "Speed" { sweeps slow to fast scales pan 20%..100% }
  underslung flips pan, tilt
}
"""


@dataclass(frozen=True)
class Channel:
    """A channel as it stands in the text."""

    number: int
    name: str
    control: str
    travel: tuple[int, int] = (100, 100)
    subtrim: int = 0
    reversed: bool = False
    failsafe: str = "hold"
    shape: str = ""

    def text(self) -> str:
        """The line of the channel."""
        turned = " reversed" if self.reversed else ""
        return (
            f"channel {self.number} {self.name} from {self.control} travel {self.travel[0]}% / {self.travel[1]}% "
            f"subtrim {self.subtrim}{turned} failsafe {self.failsafe} {self.shape}"
        )


@dataclass(frozen=True)
class Plan:
    """A rig: `handset` is the bridge's and perhaps the head's, `other` the head's if it has its own."""

    channels: dict[str, dict[str, Channel]]
    mixes: tuple[str, ...]
    bound: dict[str, str]
    leads: dict[str, tuple[str, str]]  # by leg: its plugs
    sources: dict[str, tuple[str, bool]]  # by input of the head: channel, reversed
    settings: dict[str, str]  # "cam.port": "Orders"
    underslung: bool
    learn: bool
    silence: str
    units: frozenset[str] = field(default_factory=frozenset)

    def text(self) -> str:
        """The rig file."""
        models = MODELS.replace("SILENCE", self.silence).replace(
            "LEARN", "; learns neutral" if self.learn else ""
        )
        parts = [models]
        for handset, channels in self.channels.items():
            mixes = self.mixes if handset == "hs" else ()
            lines = [*(channel.text() for channel in channels.values()), *(f"mix {mix}" for mix in mixes)]
            parts.append(f'unit {handset} is hm "{handset}" {{ memory 1 "M"; {"; ".join(lines)} }}')
        for receiver in ("rx", "ry"):
            if receiver in self.units:
                bound = f"bound to {self.bound[receiver]}" if self.bound.get(receiver) else ""
                parts.append(f'unit {receiver} is rm "{receiver}" {{ {bound} }}')
        for pack in sorted(name for name in self.units if name.startswith("pack")):
            parts.append(f'unit {pack} is pk "{pack}"')
        parts.append('unit box is bx "box"')
        parts.append(f'unit cam is cm "cam" {{ {self._set("cam")} }}')
        heard = "; ".join(
            f"input {name} from {channel}{' reversed' if turned else ''}"
            for name, (channel, turned) in self.sources.items()
        )
        mount = "underslung" if self.underslung else "upright"
        parts.append(f'unit head is hd "head" {{ mount {mount}; {self._set("head")}; {heard} }}')
        for leg, (source, sink) in self.leads.items():
            parts.append(f'cable {leg} "{leg}" {{ {source} to {sink}; length 1m; jacket 3mm }}')
        return "\n".join(parts)

    def _set(self, unit: str) -> str:
        return "; ".join(
            f'set {name.split(".")[1]} "{value}"'
            for name, value in self.settings.items()
            if name.startswith(unit)
        )

    def without(self, leg: str) -> Plan:
        """The plan without a lead."""
        return replace(self, leads={name: ends for name, ends in self.leads.items() if name != leg})

    def channel(self, handset: str, name: str, **changes: object) -> Plan:
        """The plan with one channel changed."""
        new = replace(self.channels[handset][name], **changes)  # type: ignore[arg-type]
        return replace(self, channels={**self.channels, handset: {**self.channels[handset], name: new}})


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    """A bridge with a camera behind it and a head on a serial line, on one handset or on two."""
    two = draw(st.booleans())
    level = st.sampled_from((60, 80, 100, 120))
    failsafe = st.sampled_from(("hold", "none", "0%", "-100%", "50%"))

    def channel(number: int, name: str, control: str, **more: object) -> Channel:
        return Channel(
            number,
            name,
            control,
            travel=(draw(level), draw(level)),
            subtrim=draw(st.sampled_from((0, 0, -10, 20))),
            reversed=draw(st.booleans()),
            failsafe=draw(failsafe),
            **more,  # type: ignore[arg-type]
        )

    shapes = st.sampled_from(("", "", "rate 50% while two toward", "expo 30%", "slow 2s", "rate 70%"))
    first = {
        "iris": channel(1, "iris", "fader", shape=draw(shapes)),
        "tools": channel(2, "tools", "a"),
        "rec": channel(3, "rec", "two"),
        "pick": channel(7, "pick", "b"),
    }
    second = {
        "pan": channel(4, "pan", "pan", shape=draw(shapes)),
        "tilt": channel(5, "tilt", "tilt"),
        "mode": channel(6, "mode", "b" if two else "a"),
        "speed": channel(8, "speed", "fader"),
    }
    channels = {"hs": first, "ht": second} if two else {"hs": {**first, **second}}
    mixes = draw(
        st.sampled_from(((), ("pick into tools at 40%",), ("pick into iris at 30% / -50% while two toward",)))
    )
    units = {"rx", "packa"} | ({"ry", "packb"} if two else set())
    head = "ry" if two else "rx"
    leads = {
        "s1": ("rx.p1", "box.j1"),
        "s2": ("rx.p2", "box.j2"),
        "s3": ("rx.p3", "box.j3"),
        "s4": ("box.k", "cam.control"),
        "s5": (f"{head}.bus", "head.remote"),
        "p1": ("packa.o1", "box.power"),
        "p2": ("packa.o2", "cam.power"),
        "p3": ("packb.o1" if two else "packc.o1", "head.power"),
        "p4": ("packd.o1", "rx.power"),
    }
    units |= {"packd"} | (set() if two else {"packc"})
    if two:
        leads["p5"] = ("packb.o2", "ry.power")
    heard = {name: (name, draw(st.booleans())) for name in ("pan", "tilt", "mode", "speed")}
    return Plan(
        channels=channels,
        mixes=mixes,
        bound={"rx": "hs", "ry": "ht"} if two else {"rx": "hs"},
        leads=leads,
        sources=heard,
        settings={
            "cam.port": "Orders",
            "cam.one": "Peaking",
            "cam.other": draw(st.sampled_from(("Level", "Zoom"))),
            "head.type": "Serial",
            "head.feel": "Soft",
        },
        underslung=draw(st.booleans()),
        learn=draw(st.booleans()),
        silence=draw(st.sampled_from(("standby", "run"))),
        units=frozenset(units),
    )
