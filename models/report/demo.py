"""The page of `demo`: what is wrong with the wing, why, what mends it, what was written; on one screen."""

from __future__ import annotations

from models.report.text import Page, Record
from models.rounding import down


def demo_text(out: Page, checked: Record, why: str, mended: Record, names: list[str]) -> None:
    """The story in its order.

    Parameters
    ----------
    out : Page
        Where to.
    checked : dict
        From `models.command.record.check_record`, of the wing as drawn.
    why : str
        What makes it weak, in a sentence.
    mended : dict
        From `models.command.mend.mend_record`.
    names : list of str
        Files, with their folder.
    """
    out.say(checked["wing"], "bold")
    verdict = checked["answer"]["verdict"]["sentences"]
    for k, sentence in enumerate(verdict[:3]):
        out.say(sentence, "" if k else "green" if checked["answer"]["survives"] else "bold red")
    if why:
        out.say(f"Why: {why}")
    for k, sentence in enumerate(mended["answer"]["sentences"]):
        out.say(sentence, "" if k else "green" if mended["answer"]["fit"] else "bold red")
    out.cautions(checked["cautions"])
    if mended["steps"]:
        before = mended["before"]["share_surviving_all"]
        steps = [
            (one["change"], f"{one['grams']:.1f}", one["share_surviving_all"]) for one in mended["steps"]
        ]
        rows = [
            (what, grams, down(100 * share, 0)) for what, grams, share in [("as drawn", "-", before), *steps]
        ]
        out.table("Mended", ["<change", "gains, g", "survive of 100"], rows)
    out.files(names)
    out.say("The same for a wing of your own: `sparbay new`, `sparbay check FILE`, `sparbay mend FILE`.")
