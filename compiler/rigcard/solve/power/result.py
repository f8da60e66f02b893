"""What is computed of power: volts and amperes of every rail and lead, and what the packs last."""

from collections.abc import Sequence
from typing import NamedTuple

from rigcard.resolve.feeding import Feeding, PowerLead, Rail
from rigcard.resolve.power_side import Outlet, Supply, Window
from rigcard.solve.power.packs import Charging, PackUse


class Case(NamedTuple):
    """Loads at rest or all at their peak together, packs full or near empty."""

    peak: bool
    empty: bool

    def words(self, level: bool) -> str:
        """As a message says it; `level`: the source has the same volts all the time, as one on the mains has."""
        load = "at peak" if self.peak else "at rest"
        return load if level else f"{load} with the pack {'near empty' if self.empty else 'full'}"


CASES = (Case(False, False), Case(False, True), Case(True, False), Case(True, True))
AT_REST = (0, 1)  # of CASES
FULL, EMPTY = 2, 3  # of CASES: all loads at their peak; these two are on papers and in rig.json
Figures = tuple[float, ...]  # one value a case of CASES


class RailUse(NamedTuple):
    """A rail that power reaches: its volts in each case, and the narrowest window of what is on it."""

    rail: Rail
    source: Rail
    volts: Figures
    window: Window | None

    @property
    def reserve(self) -> float | None:
        """Volts between the window and what comes, the smaller side; negative outside."""
        if self.window is None:
            return None
        return min(min(self.volts) - float(self.window.low), float(self.window.high) - max(self.volts))


class LeadUse(NamedTuple):
    """A lead that brings power: the amperes in it, and its resistance there and back where its wire is stated."""

    lead: PowerLead
    amps: Figures
    ohms: float | None


class OutletUse(NamedTuple):
    """What leaves a unit by an outlet."""

    unit: str
    outlet: Outlet
    amps: Figures


class SourceUse(NamedTuple):
    """What a source gives; `fails`: the cases in which its loads cannot be fed; watts at rest at nominal volts.

    Where it takes turns with others, `watts` are those of its share of the time, `alone` those while it feeds.
    """

    unit: str
    rail: Rail
    supply: Supply
    amps: Figures
    fails: tuple[Case, ...]
    watts: float
    alone: float


class Power(NamedTuple):
    """The power of a rig. Rails stand in the order in which power reaches them.

    `ways`: where power goes, for every choice of the inputs of which one at a time feeds; figures are the worst.
    """

    ways: Sequence[Feeding]
    rails: dict[Rail, RailUse]
    leads: dict[str, LeadUse]  # by the leg's id
    outlets: Sequence[OutletUse]
    sources: dict[str, SourceUse]
    packs: Sequence[PackUse]
    charging: Charging | None

    @property
    def feeding(self) -> Feeding:
        """Where power goes by the first choice; it has every rail and every lead."""
        return self.ways[0]

    def behind_regulator(self, rail: Rail) -> bool:
        """Whether a regulator stands between a rail and its source."""
        while not (fed := self.feeding.rails[rail]).regulator and fed.parent:
            rail = fed.parent
        return fed.regulator is not None

    def level(self, rail: Rail) -> bool:
        """Whether the volts behind a rail are the same all the time."""
        supplies = [use.supply for use in self.sources.values() if use.rail in self.sources_of(rail)]
        return all(supply.empty == supply.full for supply in supplies)

    def sources_of(self, rail: Rail) -> list[Rail]:
        """The rails of all sources that may feed a rail."""
        if len(self.ways) == 1:
            return self.feeding.sources[rail]
        return list(dict.fromkeys(source for way in self.ways for source in way.sources[rail]))
