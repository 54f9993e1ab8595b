"""A plan as a page to print: what was asked, the picture, every carrier, the spares, where the bands are from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from html import escape

from fleet.model.plan import Plan, PlanSpare, ProductField
from fleet.planning.coordination.caution import CAUTION
from fleet.planning.coordination.plan_document import request_of
from fleet.planning.coordination.request import Profile, Request
from fleet.planning.handout.lanes import lanes_svg

_HZ_PER_MHZ, _HZ_PER_KHZ = 1e6, 1e3
_US_PER_SECOND, _US_PER_MINUTE = 1_000_000, 60_000_000
_MINUTES_PER_HOUR, _MINUTES_PER_DAY = 60, 1_440
STYLE = """
@page { size: A4 landscape; margin: 12mm; }
body { font: 13px/1.45 system-ui, sans-serif; color: #111; background: #fff; }
body { margin: 24px auto; max-width: 1100px; padding: 0 16px; }
h1 { font-size: 24px; margin: 0 0 2px; } h2 { font-size: 15px; margin: 22px 0 6px; }
.said { color: #444; margin: 0 0 4px; } .caution { border: 2px solid #111; padding: 8px 12px; margin: 14px 0; }
.simulated { border: 1px dashed #111; padding: 1px 8px; font-weight: 600; }
svg { width: 100%; height: auto; } table { border-collapse: collapse; width: 100%; break-inside: auto; }
th, td { text-align: left; padding: 3px 10px 3px 0; border-bottom: 1px solid #bbb; } tr { break-inside: avoid; }
td.number, th.number { text-align: right; width: 6em; padding-right: 18px; font-variant-numeric: tabular-nums; }
"""


@dataclass(frozen=True, slots=True)
class Print:
    """What a page says beside the plan: its revision, when it is printed in UTC, and what each channel is for.

    Revision 0 is of a file that has none.
    """

    revision: int
    at_utc_us: int
    parts: dict[str, str]
    simulated: bool = False


def plan_page(plan: Plan, made: Print, field: ProductField | None = None) -> str:
    """The page, a whole HTML document that needs nothing else. Raises InvalidDocument for a request that is none."""
    request = request_of(plan, "plan")
    badge = "<span class='simulated'>Simulated receivers</span>" if made.simulated else ""
    revision = f", revision {made.revision}" if made.revision else ""
    body = [
        f"<h1>{escape(plan.title)}</h1>",
        f'<p class="said">Frequency plan{revision}, printed {_minute(made.at_utc_us)} {badge}</p>',
        f'<p class="said">{_standing(plan, request)}</p>',
        f'<p class="caution">{escape(CAUTION)}</p>',
        lanes_svg(plan, request, field),
        *_carriers(plan, request, made),
        *_spares(plan, made),
        *_relaxations(plan),
        *_asked(request),
        *_bands(plan),
    ]
    head = f"<meta charset='utf-8'><title>{escape(plan.title)}</title><style>{STYLE}</style>"
    return f"<!doctype html>\n<html lang='en'><head>{head}</head><body>\n" + "\n".join(body) + "\n</body></html>\n"


def _standing(plan: Plan, request: Request) -> str:
    stands = f"{len(plan.carriers)} of {request.asked} carriers stand"
    margin = (
        ""
        if plan.worst_margin_hz is None
        else f"; the worst margin is {_khz(plan.worst_margin_hz)} beyond what is asked"
    )
    if not plan.complete:
        warning = f"<strong>Not complete: {stands}, or a rule is broken.</strong>"
        return f"{warning} Hold it against its request before use{margin}."
    found = f" Found with seed {plan.seed} in {plan.steps} steps." if plan.steps else ""
    return f"{stands}, every rule kept{margin}.{found}"


def _carriers(plan: Plan, request: Request, made: Print) -> Iterator[str]:
    yield "<h2>Carriers</h2><table><thead><tr><th class='number'>MHz</th><th>Zone</th><th>Group</th><th>Profile</th>"
    yield "<th>Part</th><th>Channel</th><th></th></tr></thead><tbody>"
    profiles = {group.name: group.profile for group in request.group}
    for each in sorted(plan.carriers, key=lambda carrier: (carrier.zone, carrier.frequency_hz)):
        part = made.parts.get(each.channel or "", "")
        cells = (each.zone, each.group, profiles[each.group], part, each.channel or "", "locked" if each.locked else "")
        yield _row(each.frequency_hz, cells)
    yield "</tbody></table>"


def _spares(plan: Plan, made: Print) -> Iterator[str]:
    if not plan.spares:
        return
    yield "<h2>Spares, in the order in which to take them</h2><table><thead><tr><th class='number'>MHz</th>"
    yield "<th>Rank</th><th>Zone</th><th>Group</th><th>Last heard quiet</th></tr></thead><tbody>"
    for each in sorted(plan.spares, key=lambda spare: spare.rank):
        yield _row(each.frequency_hz, (str(each.rank), each.zone, each.group, _quiet(each, made.at_utc_us)))
    yield "</tbody></table>"


def _relaxations(plan: Plan) -> Iterator[str]:
    gaining = [each for each in plan.relaxations if each.gain]
    if gaining:
        yield "<h2>What would let more in</h2><ul>"
        yield from (f"<li>{escape(each.words)}: {each.gain} more, {each.carriers} in all</li>" for each in gaining)
        yield "</ul>"


def _asked(request: Request) -> Iterator[str]:
    yield "<h2>What was asked</h2><ul>"
    for window in request.window:
        yield f"<li>From {_mhz(window.start_hz)} to {_mhz(window.stop_hz)} MHz, raster {_khz(request.raster_hz)}</li>"
    yield from (f"<li>{escape(profile.name)}: {_needs(profile)}</li>" for profile in request.profile)
    for exclusion in request.exclusion:
        words = f", {escape(exclusion.words)}" if exclusion.words else ""
        yield f"<li>Not from {_mhz(exclusion.start_hz)} to {_mhz(exclusion.stop_hz)} MHz{words}</li>"
    for each in request.protected:
        words = f", {escape(each.words)}" if each.words else ""
        yield f"<li>Somebody else on {_mhz(each.frequency_hz)} MHz{words}</li>"
    yield "</ul>"


def _needs(profile: Profile) -> str:
    said = [f"spacing {_khz(profile.spacing_hz)}"]
    guards = (
        ("two-signal third order", profile.third_two_signal_hz),
        ("three-signal third order", profile.third_three_signal_hz),
        ("two-signal fifth order", profile.fifth_two_signal_hz),
    )
    said += [f"{words} {_khz(guard_hz)} off" for words, guard_hz in guards if guard_hz]
    if profile.carrier_to_interference_db is not None:
        said.append(f"carrier-to-interference {profile.carrier_to_interference_db:g} dB")
    return ", ".join(said)


def _bands(plan: Plan) -> Iterator[str]:
    yield "<h2>Where the bands are from</h2>"
    if not plan.bands:
        yield "<p>Nobody said. Check every window with the spectrum authority of the place.</p>"
        return
    yield "<ul>"
    for band in plan.bands:
        source = ", ".join(escape(each) for each in (band.source, band.dated) if each)
        unverified = " <strong>(unverified)</strong>" if band.unverified else ""
        yield f"<li>{escape(band.words)}{': ' + source if source else ''}{unverified}</li>"
    yield "</ul>"


def _row(frequency_hz: int, cells: tuple[str, ...]) -> str:
    rest = "".join(f"<td>{escape(cell)}</td>" for cell in cells)
    return f"<tr><td class='number'>{_mhz(frequency_hz)}</td>{rest}</tr>"


def _quiet(spare: PlanSpare, now_utc_us: int) -> str:
    if spare.quiet_at_utc_us is None:
        return "never looked at"
    level = "" if spare.quiet_dbm is None else f", {spare.quiet_dbm:g} dBm"
    return f"{_age(now_utc_us - spare.quiet_at_utc_us)} before this print{level}"


def _minute(utc_us: int) -> str:
    return datetime.fromtimestamp(utc_us / _US_PER_SECOND, UTC).strftime("%Y-%m-%d %H:%M UTC")


def _age(us: int) -> str:
    minutes = max(0, us // _US_PER_MINUTE)
    if minutes < _MINUTES_PER_HOUR:
        return f"{minutes} min"
    if minutes < _MINUTES_PER_DAY:
        return f"{minutes // _MINUTES_PER_HOUR} h {minutes % _MINUTES_PER_HOUR} min"
    return f"{minutes // _MINUTES_PER_DAY} days"


def _mhz(frequency_hz: int) -> str:
    return f"{frequency_hz / _HZ_PER_MHZ:.3f}"


def _khz(hertz: int) -> str:
    return f"{hertz / _HZ_PER_KHZ:g} kHz"
