"""Names that try to be something else: markup, scripts, formulas, paths, statements, codes that steer a terminal."""

from __future__ import annotations

NAME_LENGTH_MAXIMUM = 64
STRIKES = (
    "<script>struck=1</script>", "<img src=x onerror=struck=1>", "\"><svg onload=struck=1>", "'onfocus='struck=1",
    "javascript:struck=1", "${struck=1}", "{{struck=1}}", "</style><script>struck=1</script>", "<!--", "]]>", "%00",
    "&lt;script&gt;", "=1+1", "@SUM(A1)", "../../etc/passwd", "'; DROP TABLE events;--", "\\u003cscript\\u003e", "null",
    "__proto__", "constructor", "NaN", "true", "[object Object]", "<iframe srcdoc='<script>top.struck=1</script>'>",
    "<a href=javascript:struck=1>x</a>",
)  # fmt: skip
FRAMES = ("{}", "Tern {}", "{} \u00c6\u00d8\u00c5", "\u05d0\u05d1{}", "{}{}", "<b>{}</b>", "\U0001f99c{}", "`{}`")
NAMES = [frame.format(strike, strike)[:NAME_LENGTH_MAXIMUM] for frame in FRAMES for strike in STRIKES]
FORMULAS = (
    "=1+1", "+1+1", "-1+1", "@SUM(A1)", "=HYPERLINK(\"x\")", "=cmd|' /C x'!A0", "\uff1d1+1", "\uff0b1", "\uff0d1",
    "\uff20SUM(A1)", "'=1+1", "''=1", "\"=1+1", ",=1+1", "\",=1+1,\"",
)  # fmt: skip
