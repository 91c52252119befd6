"""`sparbay draw`: webs, cutting sheets, ribs, stations and rails at full size, and the cut list."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from models.cautions import CAUTIONS
from models.command.check import print_json
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault, version
from models.command.files import filled, need, read_wing, refuse_taken
from models.command.progress import Progress
from models.command.record import Record, finite
from models.drawings.cut_list import Shape, csv_text, rows, shapes
from models.drawings.nesting import Sheet, TooBig, nest
from models.drawings.other_pieces import plates, sticks
from models.drawings.other_pieces import rows as other_rows
from models.drawings.rail_template import checks, rail_check
from models.drawings.rib_outlines import RibShape, rib_shapes
from models.drawings.shopping import Item, shopping
from models.drawings.shopping import csv_text as shopping_csv
from models.drawings.shopping import rows as shopping_rows
from models.drawings.stock import Stock, StockError, read_stock, unused
from models.drawings.web_pieces import web_pieces
from models.wing.parts import Wing

if TYPE_CHECKING:
    from models.drawings.ink import Drawing

ABOUT_RIBS = {
    "plumb": "Ribs and the ends of webs stand plumb, as in the model: with dihedral a web is out of square"
    "{by}. Where you build a panel flat and set its ribs square to it, draw with --ribs square.",
    "square": "The ends of webs are square to the panel, for ribs set so on a panel built flat; the model's "
    "ribs stand plumb, which changes their height by the cosine of the dihedral.",
}
MOST_PAGES = 1000
"""Pages that are drawn at most (chosen, no source); the wings shipped take up to 68."""
_SQUARE = 0.1
"""Lean of a web's ends that is not worth a word, deg."""
LIBRARIES = {"rectpack": None, "shapely": None, "ezdxf": "dxf", "reportlab": "pdf"}
"""What draws, and the format that it is for where it is not for all."""
ABOUT_PIECES = (
    "Webs on a face are as deep as the caps' outer faces, webs between the caps as their inner faces.",
    "They end at the faces of the ribs that stop them; the model runs them from rib middle to rib middle, so "
    "that its webs weigh a little more.",
    "Lengths are on the web's middle plane; where a spar is swept the ends are bevelled.",
    "Braces, rails' ties, sheeting and sticks are in a list and on templates of their own.",
    "Sheets are taken for sound from edge to edge; buy a spare where yours may not be.",
)


def run(options: argparse.Namespace) -> ExitCode:
    """Draw everything into a folder; all of it appears at once, or nothing."""
    folder = Path(options.folder)
    refuse_taken(folder)
    formats = options.formats.split(",")
    for library, kind in LIBRARIES.items():
        if kind is None or kind in formats:
            need(library, "draw", f"leave {kind} out of --formats" if kind else "draw by hand")
    wing = read_wing(options.file)
    if not any(spar.webs for spar in wing.spars):
        raise InputFault(f"{options.file}: spars[].webs: there is no web to draw; give a spar its webs.")
    try:
        stocks = [read_stock(text) for text in options.stock or ()]
        cut = shapes(web_pieces(wing, square=options.ribs == "square"))
        n_pages = paper_pages(wing, cut, options.page)
        if n_pages > MOST_PAGES:
            raise InputFault(
                f"{options.file}: at full size plan, webs and ribs take about {n_pages} pages of "
                f"{options.page}; "
                f"no more than {MOST_PAGES} are drawn. Are the lengths in the right unit?"
            )
        lost = unused(stocks, [(s.first.material, s.first.thickness) for s in cut])
        if lost is not None:
            woods = sorted({f"{s.first.material.name}, {1e3 * s.first.thickness:g} mm" for s in cut})
            raise InputFault(
                f"draw: --stock: nothing is cut from {_stock_words(lost)}; webs are of {'; '.join(woods)}."
            )
        sheets = nest(cut, stocks, options.gap)
    except StockError as error:
        raise InputFault(f"draw: --stock: {error}.") from None
    except TooBig as error:
        raise InputFault(f"{options.file}: {error}") from None
    ribs = rib_shapes(wing)
    bought = shopping(wing, cut, ribs, plates(wing), sticks(wing), stocks, options.gap)
    names = _write(wing, cut, sheets, ribs, bought, folder, options.page, formats)
    record = draw_record(wing, cut, sheets, ribs, options, [str(folder / name) for name in names], bought)
    if options.json:
        print_json(record)
    else:
        from models.report.draw import draw_text
        from models.report.text import tell

        tell(draw_text, record)
    return ExitCode.DONE


def paper_pages(wing: Wing, cut: Sequence[Shape], paper: str) -> int:
    """Pages that webs and ribs would take at full size, each shape by itself.

    Parameters
    ----------
    wing : Wing
        With its ribs.
    cut : sequence of Shape
        Its webs.
    paper : str
        "a4" or "letter".
    """
    from models.drawings.pages import window

    sizes = [np.ptp(shape.outline, axis=0) for shape in cut]
    plan = wing.planform
    if plan is not None:
        depth = float((plan.section_upper - plan.section_lower).max())
        sizes.append(
            np.array([wing.semispan, float(np.ptp(plan.leading_edge_x.value) + plan.chord.value.max())])
        )
        sizes += [float(plan.chord.at(np.array(rib.y))) * np.array([1.0, depth]) for rib in wing.ribs]
    pages = np.ceil(1e3 * np.array(sizes).reshape(-1, 2) / np.array(window(paper)))
    return int(pages.prod(axis=1).sum())


def _out_of_square(cut: Sequence[Shape]) -> str:
    """By how much the ends of the worst piece lean against its middle line, in words; "" for square ones."""
    worst = max((math.degrees(math.atan2(abs(s.first.rise), s.first.length)) for s in cut), default=0.0)
    return f", here by up to {worst:.1f} deg" if worst >= _SQUARE else ""


def _write(
    wing: Wing,
    cut: Sequence[Shape],
    sheets: Sequence[Sheet],
    ribs: Sequence[RibShape],
    bought: Sequence[Item],
    folder: Path,
    paper: str,
    formats: Sequence[str],
) -> list[str]:
    """All files in a folder beside, which then takes its place; their names."""

    def fill(place: Path) -> list[Path]:
        _fill(wing, cut, sheets, ribs, bought, place, paper, formats)
        return sorted(place.iterdir())

    return [path.name for path in filled(folder, fill)]


def _fill(
    wing: Wing,
    cut: Sequence[Shape],
    sheets: Sequence[Sheet],
    ribs: Sequence[RibShape],
    bought: Sequence[Item],
    folder: Path,
    paper: str,
    formats: Sequence[str],
) -> None:
    from models.drawings.jig import jig_blocks, jig_drawings
    from models.drawings.other_pieces import csv_text as other_csv
    from models.drawings.other_pieces import other_templates
    from models.drawings.pages import MARGIN, PAPERS, STRIP, window
    from models.drawings.plan import plans
    from models.drawings.rail_template import rail_drawings
    from models.drawings.rib_outlines import rib_drawings
    from models.drawings.sheet_plans import sheet_plans
    from models.drawings.stations import stations_drawing
    from models.drawings.templates import templates

    room = window(paper)
    width, height = PAPERS[paper]
    flat = plates(wing)
    kinds: dict[str, Callable[[], Sequence[Drawing]]] = {
        "plan-overview": lambda: plans(wing, cut, (height - 2 * MARGIN, width - 2 * MARGIN - STRIP))[0],
        "plan": lambda: plans(wing, cut, room)[1],
        "web-templates": lambda: templates(cut, room),
        "other-templates": lambda: other_templates(wing, flat, room),
        "cutting-sheets": lambda: sheet_plans(sheets),
        "ribs": lambda: rib_drawings(ribs, room),
        "jig-blocks": lambda: jig_drawings(jig_blocks(wing), room),
        "rib-stations": lambda: (stations_drawing(wing),) if wing.ribs else (),
        "rail-template": lambda: rail_drawings(wing),
    }
    with Progress(len(kinds), quiet=True) as progress:
        for name, make in kinds.items():
            progress(f"drawing {name}")
            drawings = make()
            if drawings:
                _files(wing, name, drawings, folder, paper, formats)
    (folder / "cut-list.csv").write_text(csv_text(cut), encoding="utf-8")
    (folder / "shopping-list.csv").write_text(shopping_csv(bought), encoding="utf-8")
    (folder / "cut-list-rest.csv").write_text(other_csv(flat, sticks(wing)), encoding="utf-8")


def _files(
    wing: Wing, name: str, drawings: Sequence[Drawing], folder: Path, paper: str, formats: Sequence[str]
) -> None:
    from models.drawings.pages import pages, whole_page

    if "pdf" in formats:
        from models.drawings.pdf import pdf_bytes

        title = f"{wing.name}: {name.replace('-', ' ')}"
        (folder / f"{name}.pdf").write_bytes(pdf_bytes(pages(drawings, paper, wing.name), title))
    if "svg" in formats:
        from models.drawings.svg import svg_text

        for k, drawing in enumerate(drawings, 1):
            page = whole_page(drawing, wing.name, k, len(drawings))
            (folder / f"{drawing.name}.svg").write_text(svg_text(page), encoding="utf-8")
    if "dxf" in formats:
        from models.drawings.dxf import dxf_text

        (folder / f"{name}.dxf").write_text(dxf_text(drawings), encoding="utf-8")


def _stock_words(stock: Stock) -> str:
    thickness = "" if stock.thickness is None else f"{1e3 * stock.thickness:g} mm"
    return f"{', '.join(w for w in (stock.wood or '', thickness) if w)} ({stock.size})"


def draw_record(
    wing: Wing,
    cut: Sequence[Shape],
    sheets: Sequence[Sheet],
    ribs: Sequence[RibShape],
    options: argparse.Namespace,
    files: Sequence[str],
    bought: Sequence[Item],
) -> Record:
    """All that `draw` has to say.

    Parameters
    ----------
    wing : Wing
        The wing in the file.
    cut : sequence of Shape
        From `models.drawings.cut_list.shapes`.
    sheets : sequence of Sheet
        From `models.drawings.nesting.nest`.
    ribs : sequence of RibShape
        From `models.drawings.rib_outlines.rib_shapes`.
    options : Namespace
        Of the command.
    files : sequence of str
        What was written.
    bought : sequence of Item
        From `models.drawings.shopping.shopping`.

    Returns
    -------
    dict
        Plain data in SI, units in the keys; `cut_list` is the table as in the CSV file, in its units.
    """
    to_buy = _to_buy(sheets)
    record = {
        "command": "draw",
        "version": version(),
        "file": options.file,
        "wing": wing.name,
        "answer": {
            "sentences": _sentences(cut, to_buy, ribs, wing),
            "n_webs": sum(len(s.pieces) for s in cut),
        },
        "cautions": list(CAUTIONS),
        "about_pieces": [*ABOUT_PIECES, ABOUT_RIBS[options.ribs].format(by=_out_of_square(cut))],
        "ribs": options.ribs,
        "to_buy": to_buy,
        "cut_list": rows(cut),
        "shopping": shopping_rows(bought),
        "cut_list_rest": other_rows(plates(wing), sticks(wing)),
        "pieces": [
            {
                "name": name,
                "spar": p.spar,
                "bay": p.bay,
                "side": p.side,
                "face": p.face,
                "wood": p.material.name,
                "thickness_m": p.thickness,
                "grain_rad": p.grain,
                "length_m": p.length,
                "depth_inner_m": p.depth_inner,
                "depth_outer_m": p.depth_outer,
                "bevel_rad": p.bevel,
                "inner_end": p.ends[0],
                "outer_end": p.ends[1],
                "area_m2": p.area,
                "mass_kg": p.mass,
                "outline_m": p.outline.tolist(),
            }
            for shape in cut
            for name, p in zip(shape.names(), shape.pieces, strict=True)
        ],
        "sheets": [
            {
                "wood": s.material.name,
                "thickness_m": s.thickness,
                "width_m": s.stock.width,
                "length_m": s.stock.length,
                "share_used": s.used,
                "placed": [{"name": p.name, "box_m": list(p.box)} for p in s.placed],
            }
            for s in sheets
        ],
        "ribs_to_cut": [
            {
                "mark": r.mark,
                "n": r.count,
                "ribs": list(r.ribs),
                "wood": r.rib.material.name,
                "thickness_m": r.rib.thickness,
                "area_m2": sum(p.area for p in r.parts),
                "n_parts": len(r.parts),
            }
            for r in ribs
        ],
        "rails": [_rail(wing, k) for k in range(len(wing.rails))],
        "gap_m": options.gap,
        "page": options.page,
        "files": list(files),
    }
    cleaned = finite(record)
    assert isinstance(cleaned, dict)
    return cleaned


def _rail(wing: Wing, k: int) -> Record:
    of = rail_check(wing.rails[k])
    return {
        "name": of.name,
        "between_m": of.between,
        "middle_to_middle_m": of.middles,
        "length_m": of.length,
        "rail_diagonal_m": of.rail_diagonal,
        "bolt_diagonal_m": of.bolt_diagonal,
        "bolts_m": [list(b) for b in of.bolts],
        "hole_m": of.hole,
        "words": checks(of),
    }


def _to_buy(sheets: Sequence[Sheet]) -> list[Record]:
    groups: dict[tuple[str, float], list[Sheet]] = {}
    for sheet in sheets:
        groups.setdefault((sheet.material.name, round(sheet.thickness, 9)), []).append(sheet)
    return [
        {
            "wood": wood,
            "thickness_m": thickness,
            "n_sheets": len(own),
            "width_m": own[0].stock.width,
            "length_m": own[0].stock.length,
            "n_webs": sum(1 for s in own for p in s.placed if p.strip[0] == 1),
            "n_glued_up": sum(1 for s in own for p in s.placed if p.strip[1] > 1 and p.strip[0] == 1),
            "share_used": sum(s.used for s in own) / len(own),
        }
        for (wood, thickness), own in groups.items()
    ]


def _sentences(
    cut: Sequence[Shape], to_buy: Sequence[Record], ribs: Sequence[RibShape], wing: Wing
) -> list[str]:
    said = []
    for buy in to_buy:
        n, webs = buy["n_sheets"], buy["n_webs"]
        text = (
            f"{webs} web{'s' if webs > 1 else ''} from {n} sheet{'s' if n > 1 else ''} of "
            f"{1e3 * buy['thickness_m']:g} mm {buy['wood']}, {1e3 * buy['width_m']:g} x "
            f"{1e3 * buy['length_m']:g} mm ({100 * buy['share_used']:.0f} % used)."
        )
        if buy["n_glued_up"]:
            text += (
                f" {buy['n_glued_up']} of them {'are' if buy['n_glued_up'] > 1 else 'is'} wider than the "
                "sheet: glue the strips edge to edge along the grain before cutting them out."
            )
        said.append(text)
    mass = sum(p.mass for shape in cut for p in shape.pieces)
    said.append(
        f"Together they weigh {1e3 * mass:.1f} g, cut to {len(cut)} shape{'s' if len(cut) > 1 else ''}."
    )
    bare = [r.mark for r in ribs if not r.parts]
    if bare:
        said.append(f"Not drawn: {', '.join(bare)}; leading and trailing edge leave no wood between them.")
    if any(("port", bay) not in s.bays for s in wing.sheets for side, bay in s.bays if side == "starboard"):
        said.append("Sheeting differs from side to side: the ribs drawn are those of the starboard side.")
    for rail in wing.rails:
        if rail.bolts is None:
            said.append(
                f"The template of {rail.name} has no holes: the file gives no bolts. Measure your engine."
            )
    return said
