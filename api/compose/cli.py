"""The command ``redpoll``: its words, and the exit codes.

0 all went well, and also when Ctrl-C ended what runs until it is ended; 1 something failed while running; 2 the command
line, a scenario, a production or a configuration is wrong.
"""

from __future__ import annotations

import argparse
import asyncio
import math
import sys
from collections.abc import Sequence
from importlib import metadata
from pathlib import Path

from api.compose.chart_options import add_chart
from api.compose.ending import end_with_the_starter
from api.compose.offline_options import add_offline
from api.compose.people_command import add_people
from api.compose.scan_options import add_scan
from fleet.errors import InvalidDocument, InvalidRequest, RedpollError

EXIT_GOOD = 0
EXIT_FAILED = 1
EXIT_WRONG_USE = 2
PORT_MAXIMUM = 65_535
DEVICE_PORT_MAXIMUM = 32_767
"""Above it the system hands ports out for outgoing connections."""
SECONDS_MAXIMUM = 86_400.0
_DESCRIPTION = """\
Redpoll watches and sets fleets of networked radio-microphone receivers.
Everything stays on this machine, unless people can log in and TLS is configured."""
_EPILOG = """\
first steps:
  redpoll demo                 a simulated fleet and a console; prints one link to open
  redpoll demo --check         the same, tried out by itself; prints one line with what it saw
  redpoll simulate tern-rock   virtual receivers alone, one port each
  redpoll offline tern-rock    an evening as fast as it goes; the same seed gives the same journal
  redpoll chart find FILE      frequencies that work together, for a request in TOML
  redpoll scan import FILE     what a survey of the spectrum shows, and what to keep out of
  redpoll console --config F   a console for the devices that F lists
  redpoll exercise URL TOKEN silence device_id=quay-3   a fault on cue
  redpoll record CONFIG quay-3 FILE --redact   a session with one device, written down without names
  redpoll replay FILE          what a recording holds
  redpoll production check FILE    read a production strictly: TOML, JSON, or a CSV of the cast
  redpoll bundle CONFIG FILE.zip   what somebody who helps needs to see, without secrets
  redpoll people add CONFIG NAME --role engineer   somebody may log in

Never rely on it for emergency announcements, safety cues, flying or pyrotechnics."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    options = parser().parse_args(arguments)
    try:
        if options.command == "offline":
            from api.compose.offline_command import offline  # noqa: PLC0415 - each command loads only what it runs.

            return offline(options)  # It brings a loop of its own, on virtual time.
        if options.command == "chart":
            return _chart(options)
        if options.command == "scan":
            from api.compose.scan import import_scan  # noqa: PLC0415 - as above.

            return import_scan(options)
        return asyncio.run(_run(options))
    except KeyboardInterrupt:
        return EXIT_GOOD
    except InvalidDocument as error:
        return _say(f"redpoll: {error}", EXIT_WRONG_USE)
    except InvalidRequest as error:
        return _say(f"redpoll: {error}", EXIT_WRONG_USE)
    except (RedpollError, OSError) as error:
        return _say(f"redpoll: {error}", EXIT_FAILED)


def _chart(options: argparse.Namespace) -> int:
    from api.compose.chart import Effort, check_plan, find  # noqa: PLC0415 - each command loads only what it runs.

    if options.what == "find":
        return find(options.request, Effort(options.seed, options.seconds, options.steps), as_json=options.json)
    if options.what == "neighbours":
        from api.compose.chart_print import print_protected  # noqa: PLC0415 - as above.

        return print_protected(options.list, options.raster_hz)
    if options.what == "print":
        from api.compose.chart_print import print_plan  # noqa: PLC0415 - as above.

        return print_plan(options.plan, options.request, options.form, options.title, options.place)
    return check_plan(options.plan, options.request, as_json=options.json)


def parser() -> argparse.ArgumentParser:
    """The command line."""
    top = argparse.ArgumentParser(
        prog="redpoll",
        description=_DESCRIPTION,
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="version", version=f"redpoll {metadata.version('redpoll')}")
    commands = top.add_subparsers(
        dest="command",
        required=True,
        metavar="demo | console | simulate | offline | chart | scan | exercise | record | bundle | production | …",
    )
    _add_demo(commands)
    _add_console(commands)
    _add_simulate(commands)
    add_offline(commands)
    add_chart(commands)
    add_scan(commands)
    _add_exercise(commands)
    _add_record(commands)
    _add_replay(commands)
    _add_bundle(commands)
    add_people(commands)
    _add_production(commands)
    return top


def _add_demo(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    demo = commands.add_parser("demo", help="a simulated fleet and a console on this machine; prints one link")
    demo.add_argument("--seed", type=_seed, default=1, metavar="N", help="the luck of the simulated world (1)")
    demo.add_argument("--port", type=_port, metavar="P", help="the console's port; a free one is chosen otherwise")
    demo.add_argument("--state", type=Path, metavar="DIR", help="keep journal and history there (a passing folder)")
    demo.add_argument(
        "--scenario", choices=("tern-rock", "kitchen-sink"), default="tern-rock", help="what is simulated (tern-rock)"
    )
    demo.add_argument("--check", action="store_true", help="try everything out, print one line, end")


def _add_console(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    console = commands.add_parser("console", help="a console for the devices of a configuration")
    console.add_argument("--config", type=Path, required=True, metavar="FILE", help="the configuration, in TOML")
    console.add_argument("--port", type=_port, metavar="P", help="overrides the configuration's port")
    _add_with_starter(console)
    console.add_argument("--log", choices=("human", "json"), default="human", help="the form of the log (human)")
    console.add_argument("--announce", action="store_true", help="print the link as one line of JSON")


def _add_simulate(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    simulate = commands.add_parser("simulate", help="virtual devices of a scenario, one port each")
    simulate.add_argument(
        "scenario",
        metavar="SCENARIO",
        help="a scenario or situation that comes with Redpoll, or a scenario's TOML file",
    )
    simulate.add_argument("--seed", type=_seed, default=1, metavar="N", help="the luck of the simulated world (1)")
    simulate.add_argument("--port-start", type=_device_port, metavar="P", help="the first port; free ones otherwise")
    simulate.add_argument("--exercise-port", type=_device_port, metavar="P", help="the port of the exercise protocol")
    simulate.add_argument("--token-file", type=Path, metavar="FILE", help="a bearer token that consoles must bring")
    simulate.add_argument("--tls-cert", type=Path, metavar="FILE", help="listen with TLS: the certificate, in PEM")
    simulate.add_argument("--tls-key", type=Path, metavar="FILE", help="its key, in PEM")
    simulate.add_argument("--announce", action="store_true", help="announce each by DNS-SD, on this machine alone")
    _add_with_starter(simulate)


def _add_with_starter(command: argparse.ArgumentParser) -> None:
    command.add_argument("--with-starter", action="store_true", help="end when standard input ends")


def _add_exercise(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    exercise = commands.add_parser("exercise", help="throw a fault at a running simulator, or ask for the truth")
    exercise.add_argument(
        "url", metavar="URL", help="the address of the exercise protocol, as the simulator printed it"
    )
    exercise.add_argument("token", metavar="TOKEN", help="its token")
    exercise.add_argument("method", metavar="METHOD", help="silence, speak, reboot, kill_cells, truth …")
    exercise.add_argument("parameters", metavar="NAME=VALUE", nargs="*", help="as in device_id=quay-3 seconds=6.5")


def _add_record(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    record = commands.add_parser("record", help="write a session with one device down, until it ends or Ctrl-C")
    record.add_argument("config", type=Path, metavar="CONFIG", help="the configuration that lists the device")
    record.add_argument("device", metavar="DEVICE", help="the device's id")
    record.add_argument("file", type=Path, metavar="FILE", help="the recording; no file of that name may exist")
    record.add_argument("--redact", action="store_true", help="write invented names in place of every free text")
    record.add_argument("--seconds", type=_seconds, metavar="S", help="end after that many seconds")


def _add_replay(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    replay = commands.add_parser("replay", help="say what a recording holds")
    replay.add_argument("file", type=Path, metavar="FILE", help="the recording's first file")


def _add_bundle(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    bundle = commands.add_parser("bundle", help="an archive for somebody who helps: no keys, tokens or passwords")
    bundle.add_argument("config", type=Path, metavar="CONFIG", help="the console's configuration")
    bundle.add_argument("file", type=Path, metavar="FILE.zip", help="the archive; no file of that name may exist")


def _add_production(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    production = commands.add_parser(
        "production", help="check, export or import a production: TOML, JSON, CSV of the cast"
    )
    acts = production.add_subparsers(dest="production_act", required=True, metavar="check | export | import")
    check = acts.add_parser("check", help="read a file strictly and say what it holds, or what is wrong")
    check.add_argument("file", type=Path, metavar="FILE", help="a file that ends in .toml, .json or .csv")
    for name, words in (("export", "write what stands in a console's database"), ("import", "put a file in its place")):
        act = acts.add_parser(name, help=words)
        act.add_argument(
            "config", type=Path, metavar="CONFIG", help="the configuration of a console that isn't running"
        )
        act.add_argument("file", type=Path, metavar="FILE", help="a file that ends in .toml, .json or .csv")


async def _run_production(options: argparse.Namespace) -> int:
    from api.compose.production import run_check, run_export, run_import  # noqa: PLC0415 - as in _run.

    match options.production_act:
        case "check":
            return await run_check(options.file)
        case "export":
            return await run_export(options.config, options.file)
        case _:
            return await run_import(options.config, options.file)


async def _run_people(options: argparse.Namespace) -> int:
    from api.compose.people import run_people  # noqa: PLC0415 - each command loads only what it runs.

    return await run_people(options)


async def _run(options: argparse.Namespace) -> int:
    if getattr(options, "with_starter", False):
        end_with_the_starter()
    match options.command:
        case "demo":
            from api.compose.demo import SCENARIO, run_demo  # noqa: PLC0415 - each command loads only what it runs.

            if options.check and options.scenario != SCENARIO:
                raise InvalidRequest(f"the check is made for {SCENARIO}: leave out --scenario or --check")
            return await run_demo(options.seed, options.port, options.state, options.scenario, check=options.check)
        case "console":
            from api.compose.console import run_console  # noqa: PLC0415 - each command loads only what it runs.

            return await run_console(options.config, options.port, announce=options.announce, log=options.log)
        case "exercise":
            from api.compose.exercise import run_exercise  # noqa: PLC0415 - each command loads only what it runs.

            return await run_exercise(options.url, options.token, options.method, options.parameters)
        case "record":
            from api.compose.record import RecordOrder, run_record  # noqa: PLC0415 - as above.

            order = RecordOrder(options.config, options.device, options.file, options.redact, options.seconds)
            return await run_record(order)
        case "replay":
            from api.compose.record import run_replay  # noqa: PLC0415 - as above.

            return await run_replay(options.file)
        case "production" | "people":
            return await (_run_people if options.command == "people" else _run_production)(options)
        case "bundle":
            from api.compose.bundle import run_bundle  # noqa: PLC0415 - as above.

            return await run_bundle(options.config, options.file)
        case _:
            from simulator.__main__ import run_simulator  # noqa: PLC0415 - each command loads only what it runs.
            from simulator.guard import guard_of  # noqa: PLC0415 - as above.

            guard = guard_of(options.token_file, options.tls_cert, options.tls_key)
            ports = (options.port_start, options.exercise_port)
            return await run_simulator(options.scenario, options.seed, *ports, guard=guard, announce=options.announce)


def _port(text: str) -> int:
    return _port_up_to(PORT_MAXIMUM, text)


def _device_port(text: str) -> int:
    return _port_up_to(DEVICE_PORT_MAXIMUM, text)


def _port_up_to(maximum: int, text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= maximum:
        raise argparse.ArgumentTypeError(f"a port is a whole number from 1 to {maximum}, not {text!r}")
    return int(text)


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = math.nan
    if not 0.0 < seconds <= SECONDS_MAXIMUM:
        raise argparse.ArgumentTypeError(f"seconds are a number above 0 and up to {SECONDS_MAXIMUM:g}, not {text!r}")
    return seconds


def _seed(text: str) -> int:
    if not text.isdecimal():
        raise argparse.ArgumentTypeError(f"a seed is a whole number from 0, not {text!r}")
    return int(text)


def _say(words: str, exit_code: int) -> int:
    sys.stderr.write(words + "\n")
    return exit_code


if __name__ == "__main__":
    sys.exit(main())
