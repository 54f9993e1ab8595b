"""The world: performers, packs, radio field and sound, advanced in blocks of a tenth of a second.

It reads no clock: time is an argument. Given the same scenario, seed and acts at the same times, it is the same to the
last bit.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray

from fleet.model.fields import Value
from fleet.physics.decibels import eirp_dbm_from_erp_mw
from simulator.feeds import Feeds
from simulator.loads import Loads, input_gains_db
from simulator.luck import Luck, NormalDraws
from simulator.meters import QUALITY_BLOCKS, Block, Meters, read_meters
from simulator.microphones import Microphones
from simulator.pack import Pack
from simulator.performer import Walks
from simulator.return_link import ReturnLink
from simulator.rows import Row, rows_of, seats_of
from simulator.scenario import Scenario
from simulator.sound import GainStructure, Sources, hear, low_cut_gains_db
from simulator.spectrum import Emission, Spectrum
from simulator.speech import Speech
from simulator.venue import sites_of

BLOCK_US = 100_000
BLOCK_S = BLOCK_US / 1_000_000
BLOCKS_PER_SECOND = 10
BLOCKS_KEPT = 128
RUMBLE_SPREAD_DB = 0.5


class Front:
    """The receiver's side of a row: what its carrier, its antenna inputs and its channel are set to, and its key."""

    def __init__(self, row: Row, key: str) -> None:
        extras = {extra.field: extra.value for extra in row.receiver.extra if extra.place == "channel"}
        self.carrier: dict[str, Value] = {"frequency_hz": row.spec.frequency_hz}
        self.branches: tuple[dict[str, Value], ...] = tuple(
            {"feed_powered": True} if label in row.receiver.feeds else {} for label in row.receiver.antennas
        )
        self.channel: dict[str, Value] = {"name": row.spec.part, "trim_db": 0.0, "muted": False, **extras}
        self.key = key


@dataclass(frozen=True, slots=True)
class Carried:
    """Where a pack was carried to, and whether it is still on a body."""

    position_m: tuple[float, float, float]
    worn: bool


class World:
    """One seeded world. ``fronts`` belong to ``rows``, one for each channel; ``packs`` and ``links`` to ``seats``."""

    def __init__(self, scenario: Scenario, seed: int) -> None:
        self.scenario = scenario
        self.seed = seed
        self.luck = Luck(seed)
        self.rows = rows_of(scenario)
        self.seats = seats_of(self.rows)
        self.packs = tuple(Pack(seat.spec, self.luck, keyed=not seat.receiver.analog) for seat in self.seats)
        self.links = tuple(
            ReturnLink(pack, seat.receiver.return_link_delay_ms)
            for seat, pack in zip(self.seats, self.packs, strict=True)
        )
        self.fronts = tuple(Front(row, self.packs[row.pack_seat].key) for row in self.rows)
        self.feeds = Feeds(scenario)
        self.blocks: deque[Block] = deque(maxlen=BLOCKS_KEPT)
        self.blocks_done = 0
        self._sites = sites_of(scenario, [row.receiver for row in self.rows])
        self.loads = Loads(scenario, self._sites)
        self.microphones = Microphones([seat.spec.pack for seat in self.seats], self.luck)
        self._carried: dict[int, Carried] = {}
        self._spectrum = Spectrum(self._sites, [row.carrier for row in self.rows], self.luck, BLOCK_S)
        walks = {walk.name: walk for walk in scenario.walk}
        self._walks = Walks([(walks[seat.spec.walk], seat.spec.walk_offset_s) for seat in self.seats], BLOCK_S)
        self._speech = Speech([(seat.spec.pack, seat.spec.talk) for seat in self.seats], self.luck)
        self._rumble = NormalDraws([self.luck.generator(f"rumble of {seat.spec.pack}") for seat in self.seats], ())
        self._heights = np.array([seat.spec.height_m for seat in self.seats])
        self._reach_m = np.array([seat.receiver.return_link_range_m for seat in self.seats])
        self._control_rows = np.array([seat.rows[0] for seat in self.seats])
        self._rumbles = self._sites.rumble_dbfs[self._control_rows]
        self._touched = True
        self._gains: GainStructure
        self._emission: Emission
        self._read: tuple[tuple[int, int], Meters] | None = None
        self._stand(0)

    def touch(self) -> None:
        """Say that something was set otherwise; it counts from the next block on."""
        self._touched = True

    def advance(self, now_us: int) -> None:
        """Let time pass until ``now_us``; whole blocks only."""
        while (self.blocks_done + 1) * BLOCK_US <= now_us:
            self._step()

    def meters(self, since_block: int) -> Meters:
        """What the meters show for all blocks after that number; at least for the last one.

        Only the last 128 blocks are kept; whoever looks more rarely sees those.
        """
        last = self.blocks[-1].number
        first = max(min(since_block + 1, last), self.blocks[0].number)
        if self._read is None or self._read[0] != (first, last):
            kept = list(self.blocks)
            self._read = ((first, last), read_meters(kept[first - last - 1 :], kept[-QUALITY_BLOCKS:]))
        return self._read[1]

    def position_m(self, seat: int) -> list[float]:
        """Where a pack is now, as x, y and height."""
        place: list[float] = self._emission.position_m[seat].tolist()
        return place

    def _step(self) -> None:
        block = self.blocks_done
        now_us = (block + 1) * BLOCK_US
        for link in self.links:
            if link.busy and link.advance(now_us):
                self._touched = True
        self._stand(block)
        radio = self._spectrum.advance(self._emission)
        rumble = self._rumbles + RUMBLE_SPREAD_DB * self._rumble.take()
        speech = self._speech.take() + self.microphones.source_db
        leads = self.microphones.take(self._emission.speed_m_s)
        sound = hear(radio, Sources(speech, rumble, leads), self._gains)
        self.blocks.append(Block(block, radio, sound))
        self.blocks_done += 1
        if self.blocks_done % BLOCKS_PER_SECOND == 0:
            self._each_second(now_us, radio.heard)

    def _each_second(self, now_us: int, heard: NDArray[np.intp]) -> None:
        for pack in self.packs:
            if pack.live(1.0):
                self._touched = True
        away_m = self._sites.distances_m(self._control_rows, self._emission.position_m).min(axis=1)
        for seat, link in zip(self.seats, self.links, strict=True):
            link.in_range = bool(away_m[seat.index] <= self._reach_m[seat.index])
            link.poll(now_us, heard=any(heard[row] == seat.index for row in seat.rows))

    def _stand(self, block: int) -> None:
        """Put everybody where they are in this block, and take in what was set."""
        stance = self._walks.at_block(block)
        position = np.column_stack([stance.position_m, self._heights])
        for seat, carried in self._carried.items():
            position[seat] = carried.position_m
        if not self._touched:
            before = self._emission
            self._emission = Emission(position, stance.speed_m_s, before.eirp_dbm, before.frequency_hz, before.on)
            if block % BLOCKS_PER_SECOND == 0:
                self._spectrum.face(self.loads.front_ends(self._emission))
            return
        self._emission = Emission(
            position_m=position,
            speed_m_s=stance.speed_m_s,
            eirp_dbm=np.array([self._eirp_dbm(seat) for seat in range(len(self.seats))]),
            frequency_hz=np.array([pack.settings["frequency_hz"] for pack in self.packs], dtype=np.int64),
            on=np.array([pack.radiating for pack in self.packs]),
        )
        self._tune()
        self._gains = self._gain_structure()
        self._touched = False

    def _tune(self) -> None:
        tuned = np.array([front.carrier["frequency_hz"] for front in self.fronts], dtype=np.int64)
        self._spectrum.tune(tuned, self._emission)
        inputs_db = [[_input_db(branch) for branch in front.branches] for front in self.fronts]
        self.loads.set(self.feeds.changes_db(), input_gains_db(self._sites, inputs_db), tuned)
        self._spectrum.face(self.loads.front_ends(self._emission))

    def carry(self, seat: int, carried: Carried | None) -> None:
        """Somebody carries a pack elsewhere, or back to its wearer."""
        if carried is None:
            self._carried.pop(seat, None)
        else:
            self._carried[seat] = carried
        self.touch()

    def _eirp_dbm(self, seat: int) -> float:
        """What leaves the wearer: the pack's power less what the body takes."""
        erp_mw = cast("float", self.packs[seat].settings["rf_power_mw"])
        worn = seat not in self._carried or self._carried[seat].worn
        return eirp_dbm_from_erp_mw(erp_mw) - (self.seats[seat].spec.body_loss_db if worn else 0.0)

    def _gain_structure(self) -> GainStructure:
        cuts = [low_cut_gains_db(int(pack.settings["low_cut_hz"])) for pack in self.packs]
        return GainStructure(
            speech_gain_db=np.array([speech_db for speech_db, _ in cuts]),
            rumble_gain_db=np.array([rumble_db for _, rumble_db in cuts]),
            input_trim_db=self._numbers([pack.settings for pack in self.packs], "input_trim_db"),
            pack_muted=np.array([bool(pack.settings["muted"]) for pack in self.packs]),
            trim_db=self._numbers([front.channel for front in self.fronts], "trim_db"),
            channel_muted=np.array([bool(front.channel["muted"]) for front in self.fronts]),
            analog=np.array([row.receiver.analog for row in self.rows]),
            pack_key=_numbered([pack.key for pack in self.packs]),
            channel_key=_numbered([front.key for front in self.fronts]),
        )

    @staticmethod
    def _numbers(settings: list[dict[str, Value]], name: str) -> NDArray[np.float64]:
        return np.array([each[name] for each in settings], dtype=np.float64)


def _input_db(settings: Mapping[str, Value]) -> float:
    """What an antenna input is set to add."""
    return float(settings.get("boost_db", 0.0)) - float(settings.get("attenuation_db", 0.0))


def _numbered(keys: list[str]) -> NDArray[np.int64]:
    """A number for each fingerprint, which is eight hexadecimal digits; 0 for none."""
    return np.array([int(key, 16) + 1 if key else 0 for key in keys], dtype=np.int64)


def set_pack(world: World, seat: int, changes: Mapping[str, Value]) -> None:
    """Set a pack by hand; its receiver hears of it by the return link, if at all."""
    world.packs[seat].apply(changes)
    world.touch()
