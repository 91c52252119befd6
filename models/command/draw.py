"""Which webs do I cut from how many sheets of wood, and where are they drawn at full size?

Writes a plan on one page and in tiles, webs, sheets with every web on them, ribs, templates of braces, ties
and sheeting, jig blocks, rib stations and the rails' drilling template at full size, the cut lists, and one
shopping list.

example: sparbay draw trainer --folder drawings
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from models import units_out as say
from models.command.document import Record, document, figures, give
from models.command.exit_codes import ExitCode
from models.command.faults import InputFault
from models.command.files import filled, need, read_wing, refuse_taken
from models.command.options import quantity, shared
from models.command.progress import Progress
from models.report.text import Page, answer, fixed

if TYPE_CHECKING:
    from models.drawings.cut_list import Shape
    from models.drawings.ink import Drawing
    from models.drawings.nesting import CutSheet
    from models.drawings.other_pieces import Plate, Stick
    from models.drawings.rib_outlines import RibShape
    from models.drawings.shopping import Item
    from models.drawings.stock import SheetSize
    from models.wing.parts import Rail, Wing

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


def options(command: argparse.ArgumentParser) -> None:
    """What it may be told."""
    add = command.add_argument
    shared(command, "file", "json")
    add("--folder", metavar="DIR", required=True, help="write drawings into this folder, new or empty")
    add("--page", choices=("a4", "letter"), default="a4", help="paper of the PDF pages (default: a4)")
    add("--ribs", choices=("plumb", "square"), default="plumb",
        help="how ribs stand: plumb, as in the model, or square to a panel built flat (default: plumb)",
    )  # fmt: skip
    add("--stock", metavar="SIZE", action="append",
        help='sheet to cut from, grain along the second side: "100 mm x 1000 mm", "4 in x 36 in", or "birch '
        'ply, 1.5 mm: 300 mm x 600 mm" for one wood or thickness; may be given again (default: 100 mm '
        "x 1000 mm, ply 300 mm x 600 mm)")  # fmt: skip
    add("--gap", metavar="LENGTH", type=quantity("length", "0 mm", "20 mm"), default=1e-3,
        help='least distance between two webs on a sheet, for the cut, "1.5 mm" or "1/16 in" say (default: '
        "1 mm)",
    )  # fmt: skip
    add("--formats", metavar="LIST", type=_formats, default="pdf,svg,dxf",
        help="kinds of drawing, of pdf, svg and dxf (default: pdf,svg,dxf)")  # fmt: skip


def _formats(text: str) -> str:
    asked = [word.strip().lower() for word in text.split(",")]
    if not all(word in ("pdf", "svg", "dxf") for word in asked):
        raise argparse.ArgumentTypeError(f"{text!r} is not a list of pdf, svg and dxf, parted by commas")
    return ",".join(dict.fromkeys(asked))


def run(options: argparse.Namespace) -> ExitCode:
    """Draw everything into a folder; all of it appears at once, or nothing."""
    from models.drawings.cut_list import shapes
    from models.drawings.nesting import TooBig, nest
    from models.drawings.other_pieces import plates, sticks
    from models.drawings.rib_outlines import rib_shapes
    from models.drawings.shopping import shopping
    from models.drawings.stock import StockError, read_stock, unused
    from models.drawings.web_pieces import web_pieces

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
            woods = sorted({f"{s.first.material.name}, {say.size(s.first.thickness):g}" for s in cut})
            raise InputFault(
                f"draw: --stock: nothing is cut from {_stock_words(lost)}; webs are of {'; '.join(woods)}."
            )
        sheets = nest(cut, stocks, options.gap)
    except StockError as error:
        raise InputFault(f"draw: --stock: {error}.") from None
    except TooBig as error:
        raise InputFault(f"{options.file}: {error}") from None
    ribs, flat, long = rib_shapes(wing), plates(wing), sticks(wing)
    bought = shopping(wing, cut, ribs, flat, long, stocks, options.gap)
    job = _Job(wing, cut, sheets, ribs, flat, long, bought)
    names = [path.name for path in filled(folder, lambda place: _fill(job, place, options.page, formats))]
    return give(options, draw_record(job, options, [str(folder / name) for name in names]), draw_text)


class _Job(NamedTuple):
    """What is drawn and listed: of a wing its webs, their sheets, ribs, other pieces, and what to buy."""

    wing: Wing
    cut: Sequence[Shape]
    sheets: Sequence[CutSheet]
    ribs: Sequence[RibShape]
    flat: Sequence[Plate]
    long: Sequence[Stick]
    bought: Sequence[Item]


def paper_pages(wing: Wing, cut: Sequence[Shape], paper: str) -> int:
    """Pages of "a4" or "letter" that webs and ribs would take at full size, each shape by itself."""
    import numpy as np

    from models.drawings.pages import window

    sizes = [np.ptp(shape.outline, axis=0) for shape in cut]
    plan = wing.planform
    if plan is not None:
        depth = float((plan.section_upper - plan.section_lower).max())
        deep = float(np.ptp(plan.leading_edge_x.value) + plan.chord.value.max())
        sizes.append(np.array([wing.semispan, deep]))
        sizes += [float(plan.chord.at(np.array(rib.y))) * np.array([1.0, depth]) for rib in wing.ribs]
    pages = np.ceil(1e3 * np.array(sizes).reshape(-1, 2) / np.array(window(paper)))
    return int(pages.prod(axis=1).sum())


def _out_of_square(cut: Sequence[Shape]) -> str:
    """By how much the ends of the worst piece lean against its middle line, in words; "" for square ones."""
    worst = max((math.degrees(math.atan2(abs(s.first.rise), s.first.length)) for s in cut), default=0.0)
    return f", here by up to {worst:.1f} deg" if worst >= _SQUARE else ""


def _fill(job: _Job, folder: Path, paper: str, formats: Sequence[str]) -> list[Path]:
    """Write all files into a folder."""
    from models.drawings import cut_list, other_pieces, shopping
    from models.drawings.jig import jig_blocks, jig_drawings
    from models.drawings.pages import MARGIN, PAPERS, STRIP, window
    from models.drawings.plan import plans
    from models.drawings.rail_template import rail_drawings
    from models.drawings.rib_outlines import rib_drawings
    from models.drawings.sheet_plans import sheet_plans
    from models.drawings.stations import stations_drawing
    from models.drawings.templates import templates

    wing, cut = job.wing, job.cut
    room = window(paper)
    width, height = PAPERS[paper]
    kinds: dict[str, Callable[[], Sequence[Drawing]]] = {
        "plan-overview": lambda: plans(wing, cut, (height - 2 * MARGIN, width - 2 * MARGIN - STRIP))[0],
        "plan": lambda: plans(wing, cut, room)[1],
        "web-templates": lambda: templates(cut, room),
        "other-templates": lambda: other_pieces.other_templates(wing, job.flat, room),
        "cutting-sheets": lambda: sheet_plans(job.sheets),
        "ribs": lambda: rib_drawings(job.ribs, room),
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
    for name, columns, rows in (
        ("cut-list", cut_list.COLUMNS, cut_list.rows(cut)),
        ("shopping-list", shopping.COLUMNS, shopping.rows(job.bought)),
        ("cut-list-rest", other_pieces.COLUMNS, other_pieces.rows(job.flat, job.long)),
    ):
        (folder / f"{name}.csv").write_text(cut_list.csv_text(columns, rows), encoding="utf-8")
    return sorted(folder.iterdir())


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


def _stock_words(stock: SheetSize) -> str:
    thickness = "" if stock.thickness is None else f"{say.size(stock.thickness):g}"
    return f"{', '.join(w for w in (stock.wood or '', thickness) if w)} ({stock.size})"


def draw_record(job: _Job, options: argparse.Namespace, files: Sequence[str]) -> Record:
    """All that `draw` has to say."""
    from models.drawings import cut_list, other_pieces, shopping

    wing, cut = job.wing, job.cut
    to_buy = _to_buy(job.sheets)
    record = {
        "wing": wing.name,
        "answer": {
            "sentences": _sentences(cut, to_buy, job.ribs, wing),
            "n_webs": sum(len(s.pieces) for s in cut),
        },
        "about_pieces": [*ABOUT_PIECES, ABOUT_RIBS[options.ribs].format(by=_out_of_square(cut))],
        "ribs": options.ribs,
        "to_buy": to_buy,
        "cut_list": cut_list.rows(cut),
        "shopping": shopping.rows(job.bought),
        "cut_list_rest": other_pieces.rows(job.flat, job.long),
        "pieces": [
            {"name": name}
            | figures(p, "spar", "bay", "side", "face", wood="material.name")
            | figures(p, "thickness_m", "grain_rad", "length_m", "depth_inner_m", "depth_outer_m")
            | {"bevel_rad": p.bevel, "inner_end": p.ends[0], "outer_end": p.ends[1]}
            | figures(p, "area_m2", "mass_kg", "outline_m")
            for shape in cut
            for name, p in zip(shape.names(), shape.pieces, strict=True)
        ],
        "sheets": [
            figures(
                s, wood="material.name", thickness_m="thickness", width_m="stock.width",
                length_m="stock.length", share_used="used",
            )
            | {"placed": [{"name": p.name, "box_m": list(p.box)} for p in s.placed]}
            for s in job.sheets
        ],
        "ribs_to_cut": [
            figures(
                r, "mark", n="count", ribs="ribs", wood="rib.material.name", thickness_m="rib.thickness"
            )
            | {"area_m2": sum(p.area for p in r.parts), "n_parts": len(r.parts)}
            for r in job.ribs
        ],
        "rails": [_rail(rail) for rail in wing.rails],
        "gap_m": options.gap,
        "page": options.page,
        "files": list(files),
    }  # fmt: skip
    return document("draw", options.file, record)


def _rail(rail: Rail) -> Record:
    from models.drawings.rail_template import checks, rail_check

    of = rail_check(rail)
    told = figures(of, "name", "between_m", middle_to_middle_m="middles")
    told |= figures(of, "length_m", "rail_diagonal_m", "bolt_diagonal_m", "bolts_m", "hole_m")
    return told | {"words": checks(of)}


def _to_buy(sheets: Sequence[CutSheet]) -> list[Record]:
    groups: dict[tuple[str, float], list[CutSheet]] = {}
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
            f"{say.size(buy['thickness_m']):g} {buy['wood']}, "
            f"{say.size.each(buy['width_m'], buy['length_m'], spec='g')} "
            f"({100 * buy['share_used']:.0f} % used)."
        )
        if buy["n_glued_up"]:
            text += (
                f" {buy['n_glued_up']} of them {'are' if buy['n_glued_up'] > 1 else 'is'} wider than the "
                "sheet: glue the strips edge to edge along the grain before cutting them out."
            )
        said.append(text)
    mass = sum(p.mass for shape in cut for p in shape.pieces)
    said.append(
        f"Together they weigh {say.mass(mass):.1f}, cut to {len(cut)} shape{'s' if len(cut) > 1 else ''}."
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


def draw_text(out: Page, record: Record) -> None:
    """The answer of `draw`: words, cautions, what to buy, the cut list, rails, files."""
    answer(out, record)
    mm, grams = say.size.unit, say.mass.unit
    rows = [
        (
            b["wood"],
            say.size.number(b["thickness_m"], 3),
            f"{say.size.bare(b['width_m'], 'g')} x {say.size.bare(b['length_m'], 'g')}",
            str(b["n_sheets"]),
            str(b["n_webs"]),
            fixed(b["share_used"], 100, 0),
        )
        for b in record["to_buy"]
    ]
    out.table("Sheets to buy", ["<wood", f"thick\n{mm}", f"<size\n{mm}", "sheets", "webs", "used, %"], rows)
    cells = [
        (
            r["piece"],
            str(r["quantity"]),
            r["wood"],
            say.size.number(1e-3 * r["thickness_mm"], 3),
            *(
                say.length.fixed(1e-3 * r[k], 2)
                for k in ("length_mm", "depth_inner_end_mm", "depth_outer_end_mm")
            ),
            r["grain"],
            fixed(r["end_bevel_deg"]),
            say.piece_area.fixed(1e-6 * r["area_mm2"]),
            say.mass.fixed(1e-3 * r["mass_g"], 2),
            r["where"],
        )
        for r in record["cut_list"]
    ]
    columns = [
        "<piece", "cut", "<wood", f"thick\n{mm}", f"length\n{mm}", f"depth, {mm}\ninner end", "\nouter end",
        "<grain", "bevel\ndeg", f"area\n{say.piece_area.unit}", f"each\n{grams}", "~where",
    ]  # fmt: skip
    out.table("Cut list (a port web is the starboard one turned over)", columns, cells)
    bought = [
        (
            r["what"],
            r["size"],
            say.film_area.number(r["buy"], 3) if r["unit"] == "m2" else str(r["buy"]),
            say.film_area.unit if r["unit"] == "m2" else r["unit"],
            say.mass.fixed(1e-3 * r["mass_in_wing_g"]),
            r["for"],
        )
        for r in record["shopping"]
    ]
    total = sum(r["mass_in_wing_g"] for r in record["shopping"])
    title = f"Shopping list: all of the wing, {say.mass(1e-3 * total):.0f} of it built in, without glue"
    out.table(title, ["<what", "<size", "buy", "<unit", f"in the\nwing, {grams}", "~for"], bought)
    rest = [
        (
            r["piece"],
            str(r["quantity"]),
            r["kind"],
            r["wood"],
            say.size.number(1e-3 * r["thickness_mm"]),
            *(say.ruler.number(1e-3 * r[k]) for k in ("width_mm", "length_mm")),
            say.mass.fixed(1e-3 * r["mass_g"], 2),
            r["where"],
        )
        for r in record["cut_list_rest"]
    ]
    columns = [
        "<piece", "cut", "<kind", "<wood", f"thick\n{mm}", f"width\n{mm}", f"length\n{mm}", f"each\n{grams}",
        "~where",
    ]  # fmt: skip
    out.table("Cut list of the rest: braces, ties, sheeting, sticks", columns, rest)
    for sentence in record["about_pieces"]:
        out.say(sentence)
    for rail in record["rails"]:
        out.line()
        for words in rail["words"]:
            out.say(words)
    out.say("Print PDF pages at 100 % and measure both bars.")
    out.files(record["files"])
