"""A small chart as SVG: theory as lines, what was measured as points with their errors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

WIDTH, HEIGHT = 640, 400
_LEFT, _RIGHT, _TOP, _BOTTOM = 72, 20, 44, 56
# Told apart by brightness and by shape, too.
_COLOURS = ("#1b4f72", "#b5651d", "#4a7c3a", "#7a4988")


@dataclass(frozen=True, slots=True)
class Line:
    """A theory: its points in order."""

    name: str
    points: Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Dots:
    """What was measured: x, y and three standard errors of each."""

    name: str
    points: Sequence[tuple[float, float, float]]


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis: its words, its marks from first to last, and whether it counts in powers of ten."""

    words: str
    marks: Sequence[float]

    def share(self, value: float) -> float:
        """Where a value lies between the first mark and the last, 0 to 1."""
        first, last = self.marks[0], self.marks[-1]
        return min(1.05, max(-0.05, (value - first) / (last - first)))


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart: its title, its axes, each theory with what was measured of it; names stand at the top, or low."""

    title: str
    across: Axis
    up: Axis
    pairs: Sequence[tuple[Line, Dots]]
    names_low: bool = False

    def svg(self) -> str:
        """The picture."""
        parts = [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}"',
            ' font-family="sans-serif" font-size="13">',
            f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>',
            f'<text x="{_LEFT}" y="24" font-size="16" fill="#222222">{escape(self.title)}</text>',
            *self._axes(),
            *(part for number, pair in enumerate(self.pairs) for part in self._pair(number, *pair)),
            "</svg>",
        ]
        return "\n".join(parts) + "\n"

    def _x(self, value: float) -> float:
        return round(_LEFT + self.across.share(value) * (WIDTH - _LEFT - _RIGHT), 1)

    def _y(self, value: float) -> float:
        return round(HEIGHT - _BOTTOM - self.up.share(value) * (HEIGHT - _TOP - _BOTTOM), 1)

    def _axes(self) -> list[str]:
        bottom, right = HEIGHT - _BOTTOM, WIDTH - _RIGHT
        parts = []
        for mark in self.across.marks:
            x = self._x(mark)
            parts.append(f'<line x1="{x}" y1="{_TOP}" x2="{x}" y2="{bottom}" stroke="#dddddd"/>')
            parts.append(f'<text x="{x}" y="{bottom + 18}" text-anchor="middle" fill="#444444">{mark:g}</text>')
        for mark in self.up.marks:
            y = self._y(mark)
            parts.append(f'<line x1="{_LEFT}" y1="{y}" x2="{right}" y2="{y}" stroke="#dddddd"/>')
            parts.append(f'<text x="{_LEFT - 8}" y="{y + 4}" text-anchor="end" fill="#444444">{mark:g}</text>')
        middle = (_TOP + bottom) / 2
        parts.append(
            f'<text x="{(_LEFT + right) / 2}" y="{HEIGHT - 14}" text-anchor="middle">{escape(self.across.words)}</text>'
        )
        turn = f'transform="rotate(-90 18 {middle})"'
        parts.append(f'<text x="18" y="{middle}" text-anchor="middle" {turn}>{escape(self.up.words)}</text>')
        return parts

    def _pair(self, number: int, line: Line, dots: Dots) -> list[str]:
        colour = _COLOURS[number % len(_COLOURS)]
        shown = [(x, y) for x, y in line.points if 0.0 <= self.up.share(y) <= 1.0]
        path = " ".join(f"{self._x(x)},{self._y(y)}" for x, y in shown)
        parts = [f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="1.5"/>']
        for x, y, error in dots.points:
            at, low, high = self._x(x), self._y(y - error), self._y(y + error)
            parts.append(f'<line x1="{at}" y1="{low}" x2="{at}" y2="{high}" stroke="{colour}"/>')
            parts.append(_mark(number, at, self._y(y), colour))
        below = (HEIGHT - _BOTTOM - 20 * len(self.pairs) if self.names_low else _TOP + 18) + 20 * number
        parts.append(_mark(number, WIDTH - _RIGHT - 200, below - 4, colour))
        parts.append(f'<text x="{WIDTH - _RIGHT - 188}" y="{below}" fill="#222222">{escape(line.name)}</text>')
        return parts


def _mark(number: int, x: float, y: float, colour: str) -> str:
    if number % 2:
        drawn = f'fill="#ffffff" stroke="{colour}" stroke-width="1.5"'
        return f'<rect x="{x - 3.5}" y="{y - 3.5}" width="7" height="7" {drawn}/>'
    return f'<circle cx="{x}" cy="{y}" r="4" fill="{colour}"/>'
