"""The lightest layout of webs that meets a builder's limits, exact answers for every layout, and what-if.

See `search` for how the lightest is found and proven, `sweep` for many layouts at once, `what_if` for one
change of a wing kept in memory, `segments` for the wing as a chain of condensed bays.
"""

from models.studies.lightest.places import Asymmetric, Places, places
from models.studies.lightest.search import Candidate, Lightest, Limits, Stock, lightest
from models.studies.lightest.segments import Untabulated
from models.studies.lightest.sweep import Evaluated, Sweep
from models.studies.lightest.what_if import WhatIf, WhatIfAnswer

__all__ = [
    "Asymmetric",
    "Candidate",
    "Evaluated",
    "Lightest",
    "Limits",
    "Places",
    "Stock",
    "Sweep",
    "Untabulated",
    "WhatIf",
    "WhatIfAnswer",
    "lightest",
    "places",
]
