from __future__ import annotations

from functools import partial

import pytest

from fleet.model.address import parse_address
from fleet.model.capability import ACTS, in_force, problem_with
from fleet.model.description import problem_with_description
from fleet.model.device import KINDS
from fleet.model.fields import FIELDS, Job, Value
from simulator.virtual_fleet import VirtualFleet
from tests.simulator.sink import BEHIND

CONSOLE_ONLY = {("device", "contact_age_s")}


def test_there_is_a_device_of_every_kind_and_one_of_none(sink: VirtualFleet) -> None:
    kinds = {device.description.kind for device in sink.devices.values()}
    assert kinds == {*KINDS, "weather vane"}


def test_every_description_makes_sense(sink: VirtualFleet) -> None:
    for device in sink.devices.values():
        assert problem_with_description(device.description, device.device_id) is None


def test_every_setting_reading_and_act_of_the_catalogue_is_there(sink: VirtualFleet) -> None:
    settings, readings, acts = set(), set(), set()
    for device in sink.devices.values():
        for one in device.description.capabilities:
            settings |= {(parse_address(target).place.value, one.field) for target in one.targets}
        for entry in device.layout():
            readings |= {(parse_address(entry.address).place.value, name) for name in entry.readings}
        for address, values in device.exact(0).items():
            readings |= {(parse_address(address).place.value, name) for name in values}
        acts |= {offer.act for offer in device.description.acts}
    wanted = {(each.place.value, each.name, each.job) for each in FIELDS}
    assert {(place, name) for place, name, job in wanted if job is Job.SETTING} - settings == set()
    assert {(place, name) for place, name, job in wanted if job is Job.READING} - readings == CONSOLE_ONLY
    assert acts == set(ACTS)


@pytest.mark.parametrize(
    "device_id", [*BEHIND, "sink-wide-1", "sink-single-1", "sink-step-1", "sink-ear-1", "sink-thing-1"]
)
def test_every_setting_that_is_there_has_a_capability_in_force(sink: VirtualFleet, device_id: str) -> None:
    device = sink.device(device_id)
    settings = {address: device.known_settings(address) for address in device.addresses()}
    for address, own in settings.items():
        for field, value in own.items():
            candidates = [
                one for one in device.description.capabilities if one.field == field and address in one.targets
            ]
            found = in_force(candidates, partial(_settings_at, settings, address))
            assert found is not None, (address, field)
            assert problem_with(found.schema, value) is None, (address, field)


def _settings_at(settings: dict[str, dict[str, Value]], here: str, other: str) -> dict[str, Value]:
    return settings.get(other or here, {})


def test_nothing_is_described_twice_without_a_condition_that_tells_which(sink: VirtualFleet) -> None:
    for device in sink.devices.values():
        last: dict[tuple[str, str], bool] = {}
        for one in device.description.capabilities:
            for target in one.targets:
                assert last.get((target, one.field)) is not True, (target, one.field)
                last[target, one.field] = not one.when
