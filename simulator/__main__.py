"""``python -m simulator SCENARIO``: virtual devices on loopback, announced as lines of JSON."""

from __future__ import annotations

import argparse
import asyncio
import gc
import json
import secrets
import signal
import sys
from collections.abc import Sequence
from pathlib import Path

from fleet.clock import SystemClock
from fleet.errors import InvalidDocument, InvalidRequest, RedpollError
from simulator.announcer import Announcer
from simulator.evening import open_fleet
from simulator.exercise import ExerciseServer
from simulator.guard import Guard, guard_of
from simulator.scenario import names
from simulator.server import OPEN, SimulatorServer
from simulator.situation import situation_names

EXIT_GOOD = 0
EXIT_FAILED = 1
EXIT_WRONG_USE = 2
_TOKEN_BYTES = 24


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the simulator until it is interrupted; returns the exit code."""
    options = _parser().parse_args(arguments)
    try:
        guard = guard_of(options.token_file, options.tls_cert, options.tls_key)
        ports = (options.port_start, options.exercise_port)
        return asyncio.run(
            run_simulator(options.scenario, options.seed, *ports, guard=guard, announce=options.announce)
        )
    except InvalidDocument as error:
        sys.stderr.write(f"simulator: {error}\n")
        return EXIT_WRONG_USE
    except RedpollError as error:
        sys.stderr.write(f"simulator: {error}\n")
        return EXIT_FAILED
    except KeyboardInterrupt:
        return EXIT_GOOD


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m simulator",
        description="Virtual devices on loopback, one port each.",
        epilog=f"scenarios that come with it: {', '.join(names())}; situations: {', '.join(situation_names())}",
    )
    parser.add_argument("scenario", metavar="SCENARIO", help="one of these, or a scenario in a TOML file")
    parser.add_argument("--seed", type=_seed, default=1, metavar="N", help="the luck of the world (1)")
    parser.add_argument("--port-start", type=int, metavar="P", help="the first port; free ones otherwise")
    parser.add_argument("--exercise-port", type=int, metavar="P", help="the port of the exercise protocol")
    add_guard(parser)
    return parser


def add_guard(parser: argparse.ArgumentParser) -> None:
    """The options of the device ports' guard."""
    parser.add_argument("--token-file", type=Path, metavar="FILE", help="a bearer token that clients must bring")
    parser.add_argument("--tls-cert", type=Path, metavar="FILE", help="listen with TLS: the certificate, in PEM")
    parser.add_argument("--tls-key", type=Path, metavar="FILE", help="its key, in PEM")
    parser.add_argument("--announce", action="store_true", help="announce each by DNS-SD, on this machine alone")


def _seed(text: str) -> int:
    if not text.isdecimal():
        raise argparse.ArgumentTypeError(f"a seed is a whole number from 0 up, not {text!r}")
    return int(text)


async def run_simulator(
    scenario: str,
    seed: int,
    port_start: int | None,
    exercise_port: int | None,
    *,
    guard: Guard = OPEN,
    announce: bool = False,
) -> int:
    """Run virtual devices until interrupted.

    Prints ``{"device_id", "url"}`` for each once all listen, then ``{"exercise_url", "token"}``. Raises InvalidDocument
    for a wrong scenario, PortTaken for a named port in use, InvalidRequest for a seed below 0, before it prints a line.
    """
    if seed < 0:
        raise InvalidRequest(f"a seed is a whole number from 0 up, not {seed}")
    fleet = open_fleet(scenario, seed)
    server = SimulatorServer(fleet, SystemClock(), port_start, guard)
    token = secrets.token_urlsafe(_TOKEN_BYTES)
    exercise = ExerciseServer(fleet, server.now_us, token)
    announcer = Announcer()
    try:
        listening = await server.start()
        exercise_url = await exercise.start(exercise_port)
        for place in listening:
            _announce({"device_id": place.device_id, "url": place.url})
        _announce({"exercise_url": exercise_url, "token": token})
        if announce:
            await announcer.start((place.device_id, place.url) for place in listening)
        gc.freeze()
        await _until_interrupted(server)
    finally:
        await announcer.stop()
        await exercise.stop()
        await server.stop()
    return EXIT_GOOD


async def _until_interrupted(server: SimulatorServer) -> None:
    loop = asyncio.get_running_loop()
    interrupted = asyncio.Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(number, interrupted.set)
    turning = asyncio.create_task(server.run(), name="the world's timer")
    waiting = asyncio.create_task(interrupted.wait(), name="waiting for an interrupt")
    try:
        done, _ = await asyncio.wait({turning, waiting}, return_when=asyncio.FIRST_COMPLETED)
        if turning in done:
            turning.result()
    finally:
        turning.cancel()
        waiting.cancel()
        await asyncio.gather(turning, waiting, return_exceptions=True)
        for number in (signal.SIGINT, signal.SIGTERM):
            loop.remove_signal_handler(number)


def _announce(line: dict[str, str]) -> None:
    sys.stdout.write(json.dumps(line) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
