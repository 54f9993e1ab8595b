"""The console as a program: configuration in, one link out, until somebody asks it to end."""

from __future__ import annotations

import asyncio
import gc
import sys
from collections.abc import Callable, Coroutine, Sequence
from importlib import metadata
from pathlib import Path
from typing import Any

import numpy as np

from api.accounts import Accounts
from api.answers import PersonView
from api.app import create_app
from api.compose.announce import announce_link
from api.compose.bind import check_bind
from api.compose.ending import asked_to_end
from api.compose.logs import LogForm, logging_in
from api.compose.ways_out import WaysOut, ways_out
from api.desk import Desk
from api.door import allowed_under
from api.passwords import Passwords
from api.roles import LAUNCH_ROLES
from api.security import LAUNCH_LASTS_S, Launches, Sessions
from api.serving import ConsoleServer, console_server, listening_socket
from fleet.adapters.catalog import Catalog
from fleet.adapters.discovery import Listener
from fleet.adapters.supervisor import Supervisor
from fleet.adapters.surroundings import Surroundings
from fleet.bind import Bind
from fleet.clock import MICROSECONDS_PER_SECOND, Clock, SystemClock
from fleet.config import Configuration, read_configuration
from fleet.errors import InvalidDocument
from fleet.model.person import AT_THIS_MACHINE
from fleet.model.production import Production
from fleet.model.production_toml import read_production
from fleet.runtime import Plan, Runtime, Sink

LINK_GOES_FOR_S = LAUNCH_LASTS_S - 5.0
LOOK_WHO_IS_IN_S = 2.0
SOFTWARE_VERSION = metadata.version("redpoll")
Say = Callable[[str], None]


async def run_console(path: Path, port: int | None, *, announce: bool, log: LogForm = "human") -> int:
    """Run a console until SIGINT or SIGTERM; returns the exit code.

    Raises InvalidDocument, PortTaken and JournalUnavailable; nothing is left running then.
    """
    asked = asked_to_end()
    clock = SystemClock()
    configuration = await asyncio.to_thread(read_configuration, path)
    production = await asyncio.to_thread(production_of, configuration)
    await asyncio.to_thread(check_bind, configuration, path)
    bind = configuration.bind
    listening = listening_socket(bind.host, bind.port if port is None else port)
    with logging_in(log, path), listening, ways_out(configuration) as ways:
        listening.listen()  # Whoever opens the link at once waits for the server instead of being refused.
        runtime = await Runtime.start(console_plan(configuration, production, clock, ways), clock)
        try:
            own_port: int = listening.getsockname()[1]
            desk = await console_desk(runtime, clock, own_port, secure=bind.tls is not None)
            app = create_app(desk, allowed_under(bind.asked_for(), own_port, bind.scheme))
            server = console_server(app, desk, bind.tls)
            gc.freeze()
            door = _door(desk, bind, own_port, announce=announce)
            beside = (_end_when(asked, server), desk.accounts.keep_uses_for_ever(), door)
            await _until_ended(server.serve(sockets=[listening]), runtime.failed(), server, beside)
        finally:
            await runtime.stop()
    return 0


def production_of(configuration: Configuration) -> Production | None:
    """The production that the configuration names, if it names one.

    Raises InvalidDocument.
    """
    file = configuration.production_file
    if file is None:
        return None
    try:
        text = file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise InvalidDocument(str(file), "the file", "a TOML file in UTF-8 that can be read", str(error)) from error
    return read_production(text, str(file))


def console_plan(configuration: Configuration, production: Production | None, clock: Clock, ways: WaysOut) -> Plan:
    """The plan of a console that reaches its devices by WebSocket, and plays recordings back."""

    def make_contacts(sink: Sink) -> Supervisor:
        # The luck of the pauses between attempts; nothing is ever repeated from it.
        luck = np.random.default_rng()
        return Supervisor(clock, luck, sink, Catalog(ways.outgoing.to, clock).adapter)

    return Plan(
        database_url=configuration.database_url,
        make_contacts=make_contacts,
        software_version=SOFTWARE_VERSION,
        devices=configuration.devices,
        production=production,
        surroundings=Surroundings(
            ways.outgoing, ways.tokens, Listener(configuration.discovery_interfaces, clock), clock
        ),
    )


async def console_desk(runtime: Runtime, clock: Clock, port: int, *, secure: bool = False) -> Desk:
    """What the routes have at hand, with the sessions and tokens of before. Raises JournalUnavailable."""
    sessions = Sessions(clock)
    accounts = Accounts(runtime.people, sessions, runtime.note, clock, Passwords())
    await accounts.restore()
    return Desk(
        console=runtime,
        sessions=sessions,
        launches=Launches(clock),
        clock=clock,
        # The prefix binds it to TLS and to this host alone (RFC 6265bis, section 4.1.3).
        cookie=f"{'__Host-' if secure else ''}redpoll_{port}",
        version=SOFTWARE_VERSION,
        accounts=accounts,
        secure=secure,
    )


async def _door(desk: Desk, bind: Bind, port: int, *, announce: bool) -> None:
    """Say how to come in: by links on this machine alone, by log-in where others can reach the console."""
    address = f"{bind.scheme}://{bind.shown_host}:{port}"
    if bind.on_this_machine:
        await keep_a_link(desk, address, announce_link if announce else _say_link)
    sys.stdout.write(f"Log in at {address}\n\nCtrl-C ends the console.\n")
    sys.stdout.flush()


async def keep_a_link(desk: Desk, address: str, say: Say) -> None:
    """Whenever nobody is in, give a launch link, and a fresh one before it lapses."""
    person = PersonView(AT_THIS_MACHINE, tuple(role.value for role in LAUNCH_ROLES))
    lapses_us = desk.clock.monotonic_us()
    while True:
        if not desk.sessions.any_is_open and desk.clock.monotonic_us() >= lapses_us:
            say(f"{address}/#launch={desk.launches.issue(person)}")
            lapses_us = desk.clock.monotonic_us() + round(LINK_GOES_FOR_S * MICROSECONDS_PER_SECOND)
        if desk.sessions.any_is_open:
            lapses_us = 0  # The link was used.
        await desk.clock.sleep(LOOK_WHO_IS_IN_S)


def _say_link(link: str) -> None:
    sys.stdout.write(f"Open this link; it works once, within five minutes:\n\n  {link}\n\nCtrl-C ends the console.\n")
    sys.stdout.flush()


async def _end_when(asked: asyncio.Event, server: ConsoleServer) -> None:
    await asked.wait()
    server.should_exit = True


async def _until_ended(
    serving: Coroutine[Any, Any, None],
    failing: Coroutine[Any, Any, None],
    server: ConsoleServer,
    beside: Sequence[Coroutine[Any, Any, None]],
) -> None:
    """Serve until asked to end; when a part of the runtime fails first, end and raise what it raised."""
    serve = asyncio.create_task(serving, name="serving")
    fail = asyncio.create_task(failing, name="watching the runtime")
    others = [asyncio.create_task(one) for one in beside]
    try:
        await asyncio.wait((serve, fail), return_when=asyncio.FIRST_COMPLETED)
        server.should_exit = True
        await serve
        if fail.done():
            fail.result()
    finally:
        for task in (fail, *others):
            task.cancel()
        await asyncio.gather(fail, *others, return_exceptions=True)
