"""What everybody who builds or flies by this program's answers is told."""

CAUTIONS = (
    "For model aircraft only, never for anything that carries people.",
    "Load the wing in a static proof test before its first flight.",
    "Fly under the safety code of your national model-flying body.",
    "Where local codes or a licensed engineer's judgement apply, they come first.",
)
IN_SHORT = (
    "Caution: model aircraft only, not man-carrying; static proof test before flight; "
    "fly by your national model-flying body's code; local codes, licensed work first."
)
"""The same in two lines of a terminal."""
