"""Published cases, measured structures and converged references, run through `fea` and `models`.

`python -m validation` prints computed | published | difference | tolerance | source.
"""
