"""Ports of a model that pass a signal on unchanged: splitters, daisy chains, thru sockets."""

from __future__ import annotations

from collections.abc import Mapping

from rigcard.diagnostics import Diagnostics
from rigcard.resolve import codes
from rigcard.resolve.model import UNKNOWN, Port, Signal
from rigcard.resolve.ports import port_names
from rigcard.resolve.scope import Block
from rigcard.syntax import tree


def passed(
    block: Block, ports: Mapping[str, Port], signals: Mapping[str, Signal], diagnostics: Diagnostics
) -> dict[str, str]:
    """For each port by which a signal leaves unchanged, the port by which it entered.

    Unknown and doubled ports are left to `power.power_side`, which reads the same statements for power.
    """
    found: dict[str, str] = {}
    for item in block.all(tree.Passes):
        source = ports.get(item.source.text)
        for name in port_names(item.names, Diagnostics()):
            port = ports.get(name.text)
            if source is None or port is None or port is source:
                continue
            if _carries_signal(source, port, name, signals, diagnostics):
                found[name.text] = source.name
    return found


def _carries_signal(
    source: Port, port: Port, name: tree.Name, signals: Mapping[str, Signal], diagnostics: Diagnostics
) -> bool:
    """Whether a signal, not only power, passes from one port to another; reports one that cannot pass."""
    sent, given = signals.get(source.signal), signals.get(port.signal)
    if sent is None or given is None or UNKNOWN in (sent.kind, given.kind) or sent.kind == "power":
        return False
    if sent.name != given.name:
        if not sent.powers:
            diagnostics.report(
                codes.SIGNAL_NOT_PASSED,
                name.span,
                f"`{source.name}` takes `{sent.name}` and `{port.name}` gives `{given.name}`, and a signal leaves as it "
                "came in",
                f"declare both ports with one signal, such as `port {port.name} out {sent.name}`",
            )
        return False
    if (source.direction, port.direction) != ("in", "out"):
        wrong, way = (source, "in") if source.direction != "in" else (port, "out")
        if not sent.powers:
            diagnostics.report(
                codes.SIGNAL_NOT_PASSED,
                name.span,
                f"a signal passes from an input to an output, and `{wrong.name}` is an "
                f"{'output' if way == 'in' else 'input'}",
                f"declare it as `port {wrong.name} {way} {wrong.signal}`",
            )
        return False
    return True
