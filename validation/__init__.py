"""Published cases, measured structures and converged references, run through `fea` and `models`.

`run_all` computes them; `python -m validation` prints computed | published | difference | tolerance | source.
"""

from validation.case import Case, Result
from validation.run import run_all

__all__ = ["Case", "Result", "run_all"]
