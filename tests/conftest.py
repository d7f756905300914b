"""What every test shares."""

import matplotlib
import matplotlib.font_manager
from hypothesis import settings

matplotlib.use("Agg")
# On a new machine this builds the font cache now; later the warning about it would end up in a notebook's output.
matplotlib.font_manager.findfont("DejaVu Sans")

# The same examples in every run, so that a red test is red again on the next machine. The weekly run searches
# for new ones with --hypothesis-profile=explore.
settings.register_profile("repeatable", derandomize=True, deadline=None)
settings.register_profile("explore", deadline=None, max_examples=1000)
settings.load_profile("repeatable")
