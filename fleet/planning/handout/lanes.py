"""The picture of a plan on paper: a lane for each zone over one frequency axis, as SVG in greys."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from fleet.model.plan import Plan, ProductField
from fleet.planning.coordination.request import Request

WIDTH, LEFT, RIGHT = 1_000, 120, 20
LANE, TOP, FIELD = 46, 14, 60
TICKS_MAXIMUM = 12
_HZ_PER_MHZ = 1e6
_STEPS_HZ = tuple(step * 10**power for power in range(3, 9) for step in (1, 2, 5))
_COLUMNS = WIDTH - LEFT - RIGHT
HATCHING = (
    '<defs><pattern id="out" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<path d="M0 0V6" stroke="#999" stroke-width="1.5"/></pattern></defs>'
)


class _Axis:
    """From the lowest window's start to the highest one's end."""

    def __init__(self, request: Request) -> None:
        self.start_hz = min(window.start_hz for window in request.window)
        self.stop_hz = max(window.stop_hz for window in request.window)

    def x(self, frequency_hz: float) -> float:
        """Where a frequency stands, held to the axis."""
        share = (frequency_hz - self.start_hz) / max(1, self.stop_hz - self.start_hz)
        return LEFT + _COLUMNS * min(1.0, max(0.0, share))

    def ticks_hz(self) -> range:
        """Round frequencies, a dozen at the most."""
        span_hz = self.stop_hz - self.start_hz
        step_hz = next((each for each in _STEPS_HZ if span_hz / each <= TICKS_MAXIMUM), _STEPS_HZ[-1])
        return range(-(-self.start_hz // step_hz) * step_hz, self.stop_hz + 1, step_hz)


def lanes_svg(plan: Plan, request: Request, field: ProductField | None = None) -> str:
    """The picture: windows as ground, what is excluded hatched, carriers as masts with their spacing, spares dashed.

    Below them, where ``field`` is given, how many products of the third order fall where.
    """
    axis, zones = _Axis(request), list(dict.fromkeys(group.zone for group in request.group))
    lanes_end = TOP + LANE * len(zones)
    height = lanes_end + 40 + (FIELD if field else 0)
    label = f"Carriers of {len(zones)} zones over frequency"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img" aria-label="{label}">',
        HATCHING,
        *_ground(request, axis, lanes_end),
    ]
    for number, zone in enumerate(zones):
        parts += _lane(plan, request, axis, (zone, TOP + LANE * number))
    parts += _scale(axis, lanes_end)
    if field is not None:
        parts += _field(field, axis, height - 4)
    return "\n".join([*parts, "</svg>"])


def _ground(request: Request, axis: _Axis, bottom: int) -> Iterator[str]:
    high = bottom - TOP
    for window in request.window:
        low, wide = axis.x(window.start_hz), axis.x(window.stop_hz) - axis.x(window.start_hz)
        yield f'<rect x="{low:.1f}" y="{TOP}" width="{wide:.1f}" height="{high}" fill="#f2f2f2"/>'
    for exclusion in request.exclusion:
        low, wide = axis.x(exclusion.start_hz), axis.x(exclusion.stop_hz) - axis.x(exclusion.start_hz)
        words = escape(exclusion.words or "excluded")
        yield (
            f'<rect x="{low:.1f}" y="{TOP}" width="{max(wide, 0.5):.1f}" height="{high}" fill="url(#out)">'
            f"<title>{words}</title></rect>"
        )


def _lane(plan: Plan, request: Request, axis: _Axis, lane: tuple[str, int]) -> Iterator[str]:
    zone, top = lane
    spacings = {group.name: request.profile_of(group).spacing_hz for group in request.group}
    foot = top + LANE - 8
    yield f'<text x="{LEFT - 10}" y="{foot - 8}" text-anchor="end" font-size="13">{escape(zone)}</text>'
    yield f'<path d="M{LEFT} {foot}H{WIDTH - RIGHT}" stroke="#555" stroke-width="1"/>'
    for carrier in plan.carriers:
        if carrier.zone == zone:
            half_hz = spacings[carrier.group] / 2
            low, high = axis.x(carrier.frequency_hz - half_hz), axis.x(carrier.frequency_hz + half_hz)
            at, name = axis.x(carrier.frequency_hz), escape(carrier.group)
            yield f'<rect x="{low:.2f}" y="{foot - 5}" width="{high - low:.2f}" height="5" fill="#aaa"/>'
            yield (
                f'<path d="M{at:.2f} {foot}V{foot - 28}" stroke="#111" stroke-width="1.6">'
                f"<title>{name} {_mhz(carrier.frequency_hz)} MHz</title></path>"
            )
    for spare in plan.spares:
        if spare.zone == zone:
            at = axis.x(spare.frequency_hz)
            yield f'<path d="M{at:.2f} {foot}V{foot - 28}" stroke="#111" stroke-width="1.2" stroke-dasharray="3 3"/>'


def _scale(axis: _Axis, top: int) -> Iterator[str]:
    for tick_hz in axis.ticks_hz():
        at = axis.x(tick_hz)
        yield f'<path d="M{at:.1f} {top}v6" stroke="#555"/>'
        yield f'<text x="{at:.1f}" y="{top + 20}" text-anchor="middle" font-size="12">{tick_hz / _HZ_PER_MHZ:g}</text>'
    yield f'<text x="{LEFT - 28}" y="{top + 20}" text-anchor="end" font-size="12">MHz</text>'


def _field(field: ProductField, axis: _Axis, foot: int) -> Iterator[str]:
    """For each column of the picture the most products that fall on one of its points."""
    most = [0] * (_COLUMNS + 1)
    for index, count in enumerate(field.third):
        column = int(axis.x(field.start_hz + index * field.step_hz) - LEFT)
        most[column] = max(most[column], count)
    tallest = max(most) or 1
    high = FIELD - 14
    path = "".join(f"M{LEFT + at} {foot}v-{high * count / tallest:.1f}" for at, count in enumerate(most) if count)
    yield f'<path d="{path}" stroke="#777" stroke-width="1"/>'
    yield f'<text x="{LEFT - 10}" y="{foot - 4}" text-anchor="end" font-size="12">products</text>'
    yield f'<text x="{LEFT - 10}" y="{foot - 20}" text-anchor="end" font-size="11">at most {tallest}</text>'


def _mhz(frequency_hz: int) -> str:
    return f"{frequency_hz / _HZ_PER_MHZ:.3f}"
