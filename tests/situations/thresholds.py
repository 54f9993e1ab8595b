"""Where the classifier draws its lines between failure situations.

All of them are common practice, or half-way between two signatures that common practice names. They were written down
before the world could show any of the situations, and they stay as they were: whoever changes one changes what was
proved. A world that doesn't fit is mended in the world.
"""

from __future__ import annotations

# Levels that everything is told by: carriers at about -55 dBm that flutter by 8 dB, a site at -105, a receiver's own
# noise at -115.
SITE_FLOOR_DBM = -105.0
OWN_NOISE_DBM = -115.0
# Half-way between the two: what reads less has no antenna behind it.
DEAF_BELOW_DBM = -110.0
# A live branch flutters; what moves less than this between its least and its most is noise alone.
STEADY_SPREAD_DB = 4.0
# A carrier less than this above its floor has gone.
GONE_ABOVE_FLOOR_DB = 6.0
# Gone at once, or sunk: from the last good frame to the first one without it.
GONE_WITHIN_S = 1.0
# A carrier that sinks to this without going, its quality following, is out of its zone or behind a body.
SUNK_BELOW_DBM = -82.0
# A branch that lost its booster's power, or a distribution its own: so far down, still fluttering.
LEAKS_DOWN_DB = (15.0, 42.0)
SAME_INSTANT_S = 0.5
FEED_CURRENT_NONE_MA = 1.0
FLOOR_FALLS_DB = 4.0

QUALITY_GOOD = 0.97
QUALITY_HARMED = 0.9
QUALITY_POOR = 0.7
LEVEL_NORMAL_DBM = -72.0
# Half of the 25 dB that a broadcaster brings.
FLOOR_RISES_DB = 12.0
BLOCK_HZ = (6_000_000, 8_000_000)
# Two carriers that make a product worth hearing, and one that overloads a front end.
STRONG_TOGETHER_DBM = -28.0
OVERLOADS_ABOVE_DBM = -18.0
# Two packs on one frequency: least and most within a frame this far apart, in so many of the frames.
BEATING_SPREAD_DB = 6.0
BEATING_SHARE = 0.5
BEATING_QUALITY = 0.6

FULL_SCALE_DBFS = -1.0
EXACT_SILENCE_DBFS = -143.0
LEAD_TURNS = 3
SPEECH_ABOVE_DBFS = -50.0
# A capsule that drowns loses 12 dB in a quarter of an hour; half of that is enough to ask.
DULLED_BY_DB = 6.0
FLAT_PEAKS_WITHIN_DB = 0.5
FLAT_SHARE = 0.2
STARVED_RMS_DBFS = -75.0
STARVED_WITHIN_DB = 4.0
WRONG_PLACE_SHARE = 0.5
SQUELCH_TIGHT_ABOVE_SITE_DB = 15.0
STATE_SHARE = 0.5

SLIPS_PER_S = 0.02
RACK_SILENT_S = 5.0

# What has to be reached on unseen seeds.
OVERALL = 0.95
EACH_CLASS = 0.85
