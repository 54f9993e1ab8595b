"""What the shape of a scenario can't say: its references, its grounds, what its gear can take."""

from __future__ import annotations

from collections.abc import Iterator

from fleet.errors import InvalidDocument
from fleet.model.address import pack_address, parse_address
from fleet.physics.discharge import CHEMISTRIES
from fleet.physics.indoor import INDOOR_PLACES
from simulator.gear_checks import Problem, gear_problems, twice
from simulator.scenario import Channel, Receiver, Scenario, Walk, decode, load_text

LOW_CUTS_HZ = (0, *range(40, 161, 10))
WALK_SECONDS_MAXIMUM = 7200.0
CHANNELS_MAXIMUM = 4096
HEIGHT_MAXIMUM_M = 100.0


def load(name_or_file: str) -> Scenario:
    """A scenario that comes with the simulator, or one from a file, checked throughout.

    Raises InvalidDocument with file, key and what was expected.
    """
    file, text = load_text(name_or_file)
    return checked(file, decode(file, text))


def checked(file: str, scenario: Scenario) -> Scenario:
    """The scenario itself.

    Raises InvalidDocument for the first thing in it that can't be.
    """
    for key, expected, found in _problems(scenario):
        raise InvalidDocument(file, key, expected, found)
    return scenario


def _problems(scenario: Scenario) -> Iterator[Problem]:
    yield from _venue_problems(scenario)
    for index, walk in enumerate(scenario.walk):
        yield from _walk_problems(scenario, walk, f"walk[{index}]")
    yield from twice("zone", [zone.name for zone in scenario.zone])
    yield from twice("antenna", [antenna.name for antenna in scenario.antenna])
    yield from twice("walk", [walk.name for walk in scenario.walk])
    yield from twice("wall", [wall.name for wall in scenario.wall])
    for index, receiver in enumerate(scenario.receiver):
        yield from _receiver_problems(scenario, receiver, f"receiver[{index}]")
    yield from gear_problems(scenario)
    yield from twice("stranger", [stranger.name for stranger in scenario.stranger])
    packs = [channel.pack for receiver in scenario.receiver for channel in receiver.channel if not channel.hears]
    yield from twice("pack", packs)
    if len(packs) > CHANNELS_MAXIMUM:
        yield "receiver", f"at most {CHANNELS_MAXIMUM} channels", len(packs)


def _venue_problems(scenario: Scenario) -> Iterator[Problem]:
    venue = scenario.venue
    if not (venue.minimum_m[0] < venue.maximum_m[0] and venue.minimum_m[1] < venue.maximum_m[1]):
        yield "venue.maximum_m", "a corner beyond minimum_m in both directions", venue.maximum_m
    if venue.indoor and venue.indoor not in INDOOR_PLACES:
        yield "venue.indoor", f"one of {', '.join(INDOOR_PLACES)}", venue.indoor
    for index, antenna in enumerate(scenario.antenna):
        x_m, y_m, height_m = antenna.position_m
        if not (_inside(scenario, x_m, y_m) and 0.0 <= height_m <= HEIGHT_MAXIMUM_M):
            expected = f"a place inside the venue, at most {HEIGHT_MAXIMUM_M:g} m high"
            yield f"antenna[{index}].position_m", expected, antenna.position_m

    for index, wall in enumerate(scenario.wall):
        for number, (x_m, y_m) in enumerate(wall.points):
            if not _inside(scenario, x_m, y_m):
                yield f"wall[{index}].points[{number}]", "a place inside the venue", (x_m, y_m)
    for index, stranger in enumerate(scenario.stranger):
        if stranger.off_s is not None and stranger.off_s <= stranger.on_s:
            yield f"stranger[{index}].off_s", f"a time after on_s, which is {stranger.on_s:g}", stranger.off_s


def _inside(scenario: Scenario, x_m: float, y_m: float) -> bool:
    low, high = scenario.venue.minimum_m, scenario.venue.maximum_m
    return low[0] <= x_m <= high[0] and low[1] <= y_m <= high[1]


def _walk_problems(scenario: Scenario, walk: Walk, key: str) -> Iterator[Problem]:
    before_s = -1.0
    for index, (at_s, x_m, y_m) in enumerate(walk.points):
        if not before_s < at_s <= WALK_SECONDS_MAXIMUM or (index == 0 and at_s != 0.0):
            yield f"{key}.points[{index}]", f"seconds that rise from 0 to {WALK_SECONDS_MAXIMUM:g} at the most", at_s
        if not _inside(scenario, x_m, y_m):
            yield f"{key}.points[{index}]", "a place inside the venue", (x_m, y_m)
        before_s = at_s


def _receiver_problems(scenario: Scenario, receiver: Receiver, key: str) -> Iterator[Problem]:
    if receiver.zone not in {zone.name for zone in scenario.zone}:
        yield f"{key}.zone", "the name of a zone of this scenario", receiver.zone
    antennas = {antenna.name for antenna in scenario.antenna}
    for label, name in receiver.antennas.items():
        if name not in antennas:
            yield f"{key}.antennas.{label}", "the name of an antenna of this scenario", name
    for label in receiver.feeds:
        if label not in receiver.antennas:
            yield f"{key}.feeds", f"some of {', '.join(receiver.antennas)}", label
    if receiver.tuning.minimum_hz > receiver.tuning.maximum_hz:
        yield f"{key}.tuning", "a maximum_hz above minimum_hz", receiver.tuning.maximum_hz
    for index, channel in enumerate(receiver.channel):
        yield from _channel_problems(scenario, receiver, channel, f"{key}.channel[{index}]")
        yield from _linking_problems(scenario, channel, f"{key}.channel[{index}]")
        yield from _line_problems(channel, f"{key}.channel[{index}]")
    if receiver.wide and len({channel.frequency_hz for channel in receiver.channel}) > 1:
        yield f"{key}.channel", "one frequency_hz for all channels of a wide carrier", receiver.channel[-1].frequency_hz


def _channel_problems(scenario: Scenario, receiver: Receiver, channel: Channel, key: str) -> Iterator[Problem]:
    tuning = receiver.tuning
    if not _is_pack_id(channel.pack):
        yield f"{key}.pack", "1 to 64 of a-z 0-9 . _ -", channel.pack
    if not tuning.minimum_hz <= channel.frequency_hz <= tuning.maximum_hz:
        expected = f"{tuning.minimum_hz} to {tuning.maximum_hz}, for this receiver can tune no further"
        yield f"{key}.frequency_hz", expected, channel.frequency_hz
    if (channel.frequency_hz - tuning.minimum_hz) % tuning.step_hz:
        yield f"{key}.frequency_hz", f"a step of {tuning.step_hz} from {tuning.minimum_hz}", channel.frequency_hz
    if channel.walk not in {walk.name for walk in scenario.walk}:
        yield f"{key}.walk", "the name of a walk of this scenario", channel.walk
    if channel.cells not in CHEMISTRIES:
        yield f"{key}.cells", f"one of {', '.join(CHEMISTRIES)}", channel.cells
    if channel.rf_power_mw not in receiver.rf_power_steps_mw:
        yield f"{key}.rf_power_mw", f"one of {receiver.rf_power_steps_mw}", channel.rf_power_mw
    if channel.low_cut_hz not in LOW_CUTS_HZ:
        yield f"{key}.low_cut_hz", f"one of {LOW_CUTS_HZ}", channel.low_cut_hz


def _line_problems(channel: Channel, key: str) -> Iterator[Problem]:
    before_s = 0.0
    for index, (from_s, to_s) in enumerate(channel.speaks):
        if not before_s <= from_s < to_s:
            yield f"{key}.speaks[{index}]", f"seconds that rise from {before_s:g}", (from_s, to_s)
        before_s = to_s
    if channel.speaks_every_s and channel.speaks_every_s < before_s:
        yield f"{key}.speaks_every_s", f"at least {before_s:g}, where the last line ends", channel.speaks_every_s


def _linking_problems(scenario: Scenario, channel: Channel, key: str) -> Iterator[Problem]:
    points = {point.id for point in scenario.access_point}
    if channel.controlled_by and channel.controlled_by not in points:
        yield f"{key}.controlled_by", "the id of an access point of this scenario", channel.controlled_by
    own = {each.pack for receiver in scenario.receiver for each in receiver.channel if not each.hears}
    if channel.hears and channel.pack not in own:
        yield f"{key}.pack", "the pack of another channel, for this one only hears", channel.pack


def _is_pack_id(name: str) -> bool:
    try:
        parse_address(pack_address(name))
    except ValueError:
        return False
    return True
