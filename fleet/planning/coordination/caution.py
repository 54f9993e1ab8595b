"""What every plan says wherever it is shown, printed or handed on."""

from __future__ import annotations

CAUTION = (
    "Planning aid only. Nothing shown here is a licence or permission to transmit. Bands, power, bandwidth and "
    "licensing differ by country and change; check with your national spectrum authority before use."
)
