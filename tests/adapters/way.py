"""The way out to devices on this machine, at any port that the operating system gave."""

from __future__ import annotations

from fleet.adapters.outgoing import Outgoing
from fleet.reach import LOOPBACK_NETWORKS, PORTS_MAXIMUM, Reach


async def nothing_known(name: str) -> tuple[str, ...]:
    """A lookup that knows no name."""
    raise OSError(f"the name {name} leads nowhere")


WAY = Outgoing(Reach(LOOPBACK_NETWORKS, ((1, PORTS_MAXIMUM),)), nothing_known)
connect_websocket = WAY.open
