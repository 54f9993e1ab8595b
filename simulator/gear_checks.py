"""What can't be in the devices of a scenario: their ids, their antennas, their own settings, their gateways."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fleet.ids import is_device_id
from fleet.model.capability import problem_with
from simulator.own_settings import own_schema
from simulator.scenario import Scenario
from simulator.scenario_gear import AccessPoint, Gear, InEar, OwnSetting, Scanner

Problem = tuple[str, str, object]
_DEVICE_ID = "1 to 64 of a-z 0-9 . _ -, but not 'pack'"
_OWN = (
    *(("channel", field) for field in ("name", "trim_db", "muted")),
    *(("input", field) for field in ("feed_powered", "attenuation_db")),
    *(("pack", field) for field in ("name", "frequency_hz", "input_trim_db", "low_cut_hz", "rf_power_mw")),
    *(("pack", field) for field in ("standby", "muted", "cell_type")),
    ("device", "name"),
    ("carrier", "frequency_hz"),
    ("branch", "feed_powered"),
)


def gear_of(scenario: Scenario) -> list[tuple[str, Gear]]:
    """Every device of a scenario with the key of its table, in order."""
    kinds: list[tuple[str, tuple[Gear, ...]]] = [
        ("receiver", scenario.receiver),
        ("distribution", scenario.distribution),
        ("charger", scenario.charger),
        ("access_point", scenario.access_point),
        ("scanner", scenario.scanner),
        ("in_ear", scenario.in_ear),
        ("thing", scenario.thing),
    ]
    return [(f"{name}[{index}]", gear) for name, each in kinds for index, gear in enumerate(each)]


def twice(place: str, names: Iterable[str]) -> Iterator[Problem]:
    """A problem for each name that was there before."""
    seen: set[str] = set()
    for name in names:
        if name in seen:
            yield place, "names that differ", name
        seen.add(name)


def gear_problems(scenario: Scenario) -> Iterator[Problem]:
    """What is wrong with the devices."""
    gear = gear_of(scenario)
    for key, each in gear:
        if not is_device_id(each.id):
            yield f"{key}.id", _DEVICE_ID, each.id
        yield from _own_problems(each.extra, key)
    addresses = [each.id for _, each in gear] + [gateway.id for gateway in scenario.gateway]
    yield from twice("device", addresses)
    yield from _antenna_problems(scenario, gear)
    yield from _gateway_problems(scenario, {each.id for _, each in gear})


def _own_problems(extras: Iterable[OwnSetting], key: str) -> Iterator[Problem]:
    taken: set[tuple[str, str, tuple[str, ...]]] = {(place, field, ()) for place, field in _OWN}
    for index, extra in enumerate(extras):
        name = (extra.place, extra.field, extra.only)
        if name in taken and not extra.when:
            yield f"{key}.extra[{index}].field", "a name that the place doesn't have yet", extra.field
        if not extra.when:
            taken.add(name)
        problem = problem_with(own_schema(extra), extra.value)
        if problem is not None:
            yield f"{key}.extra[{index}].value", problem.removeprefix("must be "), extra.value


def _antenna_problems(scenario: Scenario, gear: list[tuple[str, Gear]]) -> Iterator[Problem]:
    antennas = {antenna.name for antenna in scenario.antenna}
    for key, each in gear:
        if isinstance(each, AccessPoint | Scanner | InEar) and each.antenna not in antennas:
            yield f"{key}.antenna", "the name of an antenna of this scenario", each.antenna
    fed: set[str] = set()
    for index, distribution in enumerate(scenario.distribution):
        for label, name in distribution.inputs.items():
            if name not in antennas or name in fed:
                expected = "the name of an antenna of this scenario at no other input"
                yield f"distribution[{index}].inputs.{label}", expected, name
            fed.add(name)


def _gateway_problems(scenario: Scenario, devices: set[str]) -> Iterator[Problem]:
    behind: set[str] = set()
    for index, gateway in enumerate(scenario.gateway):
        if not is_device_id(gateway.id):
            yield f"gateway[{index}].id", _DEVICE_ID, gateway.id
        for name in gateway.devices:
            if name not in devices or name in behind:
                yield f"gateway[{index}].devices", "ids of devices of this scenario, behind no other gateway", name
            behind.add(name)
