"""The power of a rig in the form of `rig.json`."""

from typing import Any

from rigcard.resolve.power_side import Window
from rigcard.solve.power.air import air_class
from rigcard.solve.power.result import EMPTY, FULL, LeadUse, Power, RailUse


def power_data(power: Power | None) -> dict[str, Any] | None:
    """Return rails, leads and packs; None for a rig without power statements."""
    if power is None:
        return None
    return {
        "rails": [_rail(power, use) for use in power.rails.values()],
        "leads": [_lead(use) for use in power.leads.values()],
        "packs": [
            {
                "unit": use.unit,
                "watt_hours": round(float(use.energy), 6),
                "watts": round(float(use.watts), 6),
                "hours": round(float(use.hours), 6) if use.hours else None,
                "cold_hours": round(float(use.cold_hours), 6) if use.cold_hours else None,
                "day": use.packs,
                "spares": use.spares,
                "alone_hours": round(float(use.alone), 6) if use.alone else None,
                "air": air_class(use.energy).words,
            }
            for use in power.packs
        ],
    }


def _rail(power: Power, use: RailUse) -> dict[str, Any]:
    window: Window | None = use.window
    return {
        "unit": use.rail[0],
        "port": use.rail[1],
        "source": use.source[0],
        "sources": [name for name, _ in power.sources_of(use.rail)],
        "volts_full": round(use.volts[FULL], 6),
        "volts_empty": round(use.volts[EMPTY], 6),
        "takes_low": round(float(window.low), 6) if window else None,
        "takes_high": round(float(window.high), 6) if window else None,
    }


def _lead(use: LeadUse) -> dict[str, Any]:
    cable = use.lead.wire.cable.power
    return {
        "id": use.lead.wire.leg.id,
        "amps": round(max(use.amps), 6),
        "rated_amps": round(float(cable.rated), 6) if cable.rated is not None else None,
        "fuse_amps": round(float(cable.fuse), 6) if cable.fuse is not None else None,
        "wire": cable.wire.written if cable.wire else None,
        "ohms": round(use.ohms, 6) if use.ohms is not None else None,
    }
