"""The world: performers, packs, radio field and sound, advanced in blocks of a tenth of a second.

It reads no clock: time is an argument. Given the same scenario, seed and acts at the same times, it is the same to the
last bit.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from fleet.model.fields import Value
from simulator.bodies import Bodies, Carried
from simulator.clicks import Clicks
from simulator.feeds import Feeds
from simulator.fronts import fronts_of, listening_of
from simulator.gains import gains_of
from simulator.ground_noise import GroundNoise
from simulator.loads import Loads
from simulator.luck import Luck
from simulator.meters import QUALITY_BLOCKS, Block, Meters, read_meters
from simulator.microphones import Microphones
from simulator.own_settings import own_values
from simulator.pack import Pack
from simulator.paths import Emission, Paths, Sent
from simulator.reach import Reaches
from simulator.return_link import ReturnLink
from simulator.rows import Seat, rows_of, seats_of
from simulator.scenario import Scenario
from simulator.sound import GainStructure, Sources, hear
from simulator.spectrum import NOBODY, Names, Probe, Spectrum
from simulator.speech import SILENT_DB, Speech
from simulator.venue import sites_of
from simulator.ways import audible, near_packs

BLOCK_US = 100_000
BLOCK_S = BLOCK_US / 1_000_000
BLOCKS_PER_SECOND = 10
BLOCKS_KEPT = 128
PLAIN_PROBE = Probe()


class World:
    """One seeded world. ``fronts`` belong to ``rows``, one for each channel; ``packs`` and ``links`` to ``seats``.

    ``heard`` is whose pack each row's carrier hears, or -1. A ``probe`` looks at the field before any meter.
    """

    def __init__(self, scenario: Scenario, seed: int, probe: Probe = PLAIN_PROBE) -> None:
        self.scenario = scenario
        self.seed = seed
        self.luck = Luck(seed)
        self.rows = rows_of(scenario)
        self.seats = seats_of(self.rows)
        self.packs = tuple(self._pack(seat) for seat in self.seats)
        self._reaches = Reaches(scenario, self.seats)
        self.links = tuple(
            ReturnLink(pack, delay_ms, exists=seat.linked)
            for seat, pack, delay_ms in zip(self.seats, self.packs, self._reaches.delays_ms, strict=True)
        )
        self.fronts = fronts_of(self.rows, [pack.key for pack in self.packs])
        self.feeds = Feeds(scenario)
        self.blocks: deque[Block] = deque(maxlen=BLOCKS_KEPT)
        self.blocks_done = 0
        self._sites = sites_of(scenario, [row.receiver for row in self.rows])
        paths = Paths(scenario, self.luck)
        self.loads = Loads(scenario, self._sites, paths, len(self.seats))
        self.microphones = Microphones([seat.spec.pack for seat in self.seats], self.luck)
        names = [row.channel if row.slot else row.carrier for row in self.rows]
        packs = [seat.spec.pack for seat in self.seats]
        self._spectrum = Spectrum(self._sites, paths, Names(names, packs), self.luck, probe)
        self.bodies = Bodies(scenario, self.seats, BLOCK_S)
        self._speech = Speech([seat.spec for seat in self.seats], self.luck)
        zones = {zone.name: zone for zone in scenario.zone}
        self._ground = GroundNoise(packs, [zones[seat.receiver.zone] for seat in self.seats], self.luck)
        self.clicks = Clicks(len(self.rows), BLOCK_S)
        slots = np.array([row.slot for row in self.rows])
        self._fitting = slots[:, np.newaxis] == np.array([seat.slot for seat in self.seats])[np.newaxis, :]
        self.heard: list[int] = [NOBODY] * len(self.rows)
        self._touched = True
        self._near: NDArray[np.bool_]
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

    @property
    def emission(self) -> Emission:
        """What all packs send now."""
        return self._emission

    @property
    def now_s(self) -> float:
        """The world's time at the end of the last block, in seconds."""
        return self.blocks_done * BLOCK_S

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
        speed_m_s = self._emission.speed_m_s
        speech = self._speech.take()[self.bodies.wearers] + self.microphones.gains_db(block)
        speech = np.where(self.bodies.silent, SILENT_DB, speech)
        leads = self.microphones.take(speed_m_s)
        sources = Sources(speech, self._ground.take(speed_m_s), leads, self.clicks.take())
        sound = hear(radio, sources, self._gains)
        self.blocks.append(Block(block, radio, sound))
        self.heard = radio.heard.tolist()
        self.blocks_done += 1
        if self.blocks_done % BLOCKS_PER_SECOND == 0:
            self._each_second(now_us)

    def _each_second(self, now_us: int) -> None:
        for pack in self.packs:
            if pack.live(1.0):
                self._touched = True
        near = self._reaches.in_range(self._emission.position_m)
        for seat, link in zip(self.seats, self.links, strict=True):
            link.in_range = near[seat.index]
            link.poll(now_us, heard=any(self.heard[row] == seat.index for row in seat.rows))

    def _stand(self, block: int) -> None:
        """Put everybody where they are in this block, and take in what was set."""
        self._emission = self.bodies.at_block(block, self._sent() if self._touched else self._emission.sent)
        if self._touched:
            self._tune(block)
            self._gains = gains_of(self.rows, self.fronts, self.seats, self.packs)
            self._touched = False
        elif block % BLOCKS_PER_SECOND == 0:
            levels_dbm = self.loads.look(self._emission)
            self._spectrum.walk_on(audible(self._near, levels_dbm, self._sites.antenna), self._emission)
            self._spectrum.face(self.loads.front_ends(levels_dbm, self._emission, block * BLOCK_S))

    def _sent(self) -> Sent:
        return Sent(
            eirp_dbm=np.array([pack.eirp_dbm for pack in self.packs]),
            behind_db=self.bodies.behind_db(),
            frequency_hz=np.array([pack.settings["frequency_hz"] for pack in self.packs], dtype=np.int64),
            on=np.array([pack.radiating for pack in self.packs]),
        )

    def _tune(self, block: int) -> None:
        sent = self._emission.sent
        listening = listening_of(self.rows, self.fronts, self._sites.antenna.shape[1])
        self._near = near_packs(listening.tuned_hz, sent.frequency_hz, self._fitting) & sent.on
        levels_dbm = self.loads.look(self._emission)
        self._spectrum.tune(audible(self._near, levels_dbm, self._sites.antenna), self._emission)
        self._spectrum.listen(listening.squelch_mw, listening.margin_db)
        self.loads.set(self.feeds.changes_db(), listening, self._emission)
        self._spectrum.face(self.loads.front_ends(levels_dbm, self._emission, block * BLOCK_S))

    def swap_packs(self, seat: int, other: int) -> None:
        """Two wearers change packs; once more, and all is as it was."""
        self.bodies.swap(seat, other)
        self.touch()

    def carry(self, seat: int, carried: Carried | None) -> None:
        """Somebody carries a pack elsewhere, or back to its wearer."""
        self.bodies.carry(seat, carried)
        self.touch()

    def _pack(self, seat: Seat) -> Pack:
        extras = own_values(seat.receiver.extra, seat.address, "pack")
        return Pack(seat.spec, self.luck, extras, keyed=not seat.receiver.analog)


def set_pack(world: World, seat: int, changes: Mapping[str, Value]) -> None:
    """Set a pack by hand; its receiver hears of it by the return link, if at all."""
    world.packs[seat].apply(changes)
    world.touch()
