"""Whether the console is well: what anybody may ask, and what a monitor should act on."""

from __future__ import annotations

from collections import Counter

from api.answers import Health
from api.console import Console
from fleet.model.device import ContactState

LOOP_LAG_MAXIMUM_S = 1.0
"""A tick that comes later than this is a console that no longer keeps up (common practice)."""
_OUT_OF_REACH = (ContactState.LOST, ContactState.BAD)


def health_of(console: Console) -> Health:
    """The figures of a console's health."""
    states = Counter(view.contact.state for view in console.devices())
    return Health(
        status="running",
        journal_writable=console.journal_status().writable,
        loop_lag_s=console.vitals().loop_lag_worst_s,
        contacts={state.value: states[state] for state in ContactState},
    )


def troubles_of(console: Console) -> tuple[str, ...]:
    """What is wrong, in words; nothing when the console is well."""
    lag_s = console.vitals().loop_lag_worst_s
    states = [view.contact.state for view in console.devices()]
    troubles = []
    if not console.journal_status().writable:
        troubles.append("The journal can't be written; watching goes on, and events wait in memory.")
    if lag_s > LOOP_LAG_MAXIMUM_S:
        troubles.append(f"The console came {lag_s:.1f} s late to its own work.")
    if states and all(state in _OUT_OF_REACH for state in states):
        troubles.append("No device is in contact.")
    return tuple(troubles)
