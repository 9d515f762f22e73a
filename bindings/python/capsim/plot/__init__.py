# SPDX-License-Identifier: BSD-3-Clause
"""Pictures of runs: front views, curves, plans side by side, and the zonule's load as a rose.

    figure = capsim.plot.front_view(history, day=90)
    figure.savefig("day90.png")

Every function returns a Matplotlib figure that no window shows and that no global setting knows
of: they work without a display, and leave the user's backend and style alone. To draw into a
figure of one's own, hand over its axes (`ax=`); for other pictures, `panels` gives empty axes with title and
cautions. Scenario name and cautions are on every picture;
leave them there. Matplotlib is needed by these functions only.
"""

from .comparison import comparison
from .curves import curves
from .front_view import front_view
from .influence_rose import influence_rose
from .panels import panels
from .small_png import save_small_png
from .zonule_rose import zonule_rose

__all__ = ["comparison", "curves", "front_view", "influence_rose", "panels", "save_small_png", "zonule_rose"]
