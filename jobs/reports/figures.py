"""The drawings of a record: the measured cycles, and where the refrigerant went."""

from __future__ import annotations

from django.utils.translation import gettext as _

from jobs.choices import StepKind
from jobs.pages.diagram import CycleDrawn, Diagram
from jobs.pages.meaning import diagram_on_record
from jobs.reports.gathering import Gathered
from jobs.steps.recovered import recovered_kg
from shopcool.core.documents.figures import (
    Area,
    Corners,
    Figure,
    KeyEntry,
    Letters,
    Pen,
    Shade,
    Shape,
    Sign,
    Stroke,
    corners,
)
from shopcool.engineering.quantities import Kind

#: The bars of the balance: their place and size on the sheet [px].
WIDTH, BARS_FROM, BARS_TO, ROW, BAR, HEADROOM = 640.0, 200.0, 520.0, 34.0, 20.0, 16.0


def cycles_figure(gathered: Gathered) -> Figure | None:
    """Return the measured cycles on pressure and enthalpy, None where no cycle was measured."""
    diagram = diagram_on_record(gathered.situation)
    return figure_of_diagram(diagram) if diagram else None


def figure_of_diagram(diagram: Diagram) -> Figure:
    """Return the diagram of a page for paper: before dashed with rings, after solid with squares."""
    title = _("Pressure and enthalpy of %(gas)s with the measured cycle") % {"gas": diagram.refrigerant}
    corner_words = _("1 suction, 2 discharge of an ideal compressor, 3 liquid, 4 after the valve.")
    return Figure(
        title=f"{title}. {corner_words} {diagram.source}.",
        told=f"{title}: {', '.join(cycle.label for cycle in diagram.cycles)}. {corner_words}",
        width=diagram.width,
        height=diagram.height,
        frame=(diagram.left, diagram.top, diagram.right, diagram.bottom),
        strokes=tuple(_strokes(diagram)),
        signs=tuple(
            Sign(corner.x, corner.y, _shape(cycle)) for cycle in diagram.cycles for corner in cycle.corners
        ),
        letters=tuple(_letters(diagram)),
        key=tuple(KeyEntry(_pen(cycle), _shape(cycle), cycle.label) for cycle in diagram.cycles),
    )


def _strokes(diagram: Diagram) -> list[Stroke]:
    left, right, top, bottom = diagram.left, diagram.right, diagram.top, diagram.bottom
    found = [Stroke(((left, tick.at), (right, tick.at)), Pen.GRID) for tick in diagram.pressures]
    found += [Stroke(((tick.at, top), (tick.at, bottom)), Pen.GRID) for tick in diagram.enthalpies]
    found += [Stroke(corners(line.points), Pen.THIN, inside=True) for line in diagram.isotherms]
    found.append(Stroke(corners(diagram.dome), Pen.HEAVY, inside=True))
    frame = ((left, top), (right, top), (right, bottom), (left, bottom), (left, top))
    found.append(Stroke(frame, Pen.AXIS))
    return found + [Stroke(corners(cycle.points), _pen(cycle)) for cycle in diagram.cycles]


def _letters(diagram: Diagram) -> list[Letters]:
    found = [Letters(diagram.left - 8.0, tick.at + 5.0, tick.label, "end") for tick in diagram.pressures]
    found += [Letters(t.at, diagram.bottom + 20.0, t.label, "middle") for t in diagram.enthalpies]
    found += [
        Letters(line.x, line.y, line.label, "middle", bare=True)
        for line in diagram.isotherms
        if line.label and diagram.left < line.x < diagram.right and diagram.top + 10 < line.y < diagram.bottom
    ]
    found += [
        Letters(corner.label_x, corner.label_y, corner.number, "middle", strong=True, bare=True)
        for cycle in diagram.cycles
        if cycle.is_numbered
        for corner in cycle.corners
        if corner.number
    ]
    found.append(Letters(diagram.right, diagram.height - 8.0, diagram.enthalpy_label, "end", strong=True))
    found.append(Letters(4.0, diagram.top, diagram.pressure_label, "end", strong=True, upright=True))
    return found


def _pen(cycle: CycleDrawn) -> Pen:
    return Pen.DASHED if cycle.manner == "before" else Pen.CURVE


def _shape(cycle: CycleDrawn) -> Shape:
    return Shape.RING if cycle.manner == "before" else Shape.SQUARE


def balance_figure(gathered: Gathered) -> Figure | None:
    """Return what the label asks for, what came out and what went in; None before any weighing."""
    rows = _balance(gathered)
    if len(rows) < 2:
        return None
    most = max(mass for _label, mass, _shade in rows)
    height = HEADROOM + ROW * len(rows) + 10.0
    shown = [gathered.units.shown(mass, Kind.MASS) for _label, mass, _shade in rows]
    title = _("Refrigerant of this visit, as weighed; the dashed line is the label charge")
    return Figure(
        title=title,
        told=f"{title}: " + ", ".join(f"{row[0]} {mass}" for row, mass in zip(rows, shown, strict=True)),
        width=WIDTH,
        height=height,
        frame=(BARS_FROM, HEADROOM, BARS_TO, height),
        areas=tuple(Area(_bar(place, mass / most), shade) for place, (_l, mass, shade) in enumerate(rows)),
        strokes=(
            Stroke(((BARS_FROM, HEADROOM - 6.0), (BARS_FROM, height)), Pen.AXIS),
            *_label_line(gathered, most, height),
        ),
        letters=tuple(
            letters
            for place, (row, mass) in enumerate(zip(rows, shown, strict=True))
            for letters in _bar_letters(place, row[0], mass)
        ),
    )


def _balance(gathered: Gathered) -> list[tuple[str, float, Shade]]:
    context = gathered.situation.context
    label = context.case.facts.charge_kg
    recovered, charged = (gathered.standing(kind) for kind in (StepKind.RECOVERY, StepKind.CHARGE))
    rows = [] if label is None else [(_("On the label"), label, Shade.EMPTY)]
    if recovered:
        rows.append((_("Recovered"), sum(recovered_kg(row.values) for row in recovered), Shade.LIGHT))
    if charged:
        outputs = (row.answer.output("kept") for row in charged)
        kept = sum(output.si or 0.0 for output in outputs if output)
        rows.append((_("Charged"), sum(row.values.si("mass", 0.0) for row in charged), Shade.DARK))
        rows += [(_("Kept by the hoses"), kept, Shade.LIGHT)] if kept else []
        rows.append((_("In the circuit afterwards"), context.charged_before_kg, Shade.DARK))
    return rows if recovered or charged else []


def _bar(place: int, share: float) -> Corners:
    top, right = HEADROOM + ROW * place, BARS_FROM + share * (BARS_TO - BARS_FROM)
    return ((BARS_FROM, top), (right, top), (right, top + BAR), (BARS_FROM, top + BAR))


def _bar_letters(place: int, label: str, mass: str) -> tuple[Letters, Letters]:
    baseline = HEADROOM + ROW * place + BAR - 6.0
    return (
        Letters(BARS_FROM - 10.0, baseline, label, "end"),
        Letters(WIDTH - 20.0, baseline, mass, "end", strong=True),
    )


def _label_line(gathered: Gathered, most: float, height: float) -> tuple[Stroke, ...]:
    label = gathered.situation.context.case.facts.charge_kg
    if label is None:
        return ()
    at = BARS_FROM + label / most * (BARS_TO - BARS_FROM)
    return (Stroke(((at, HEADROOM - 10.0), (at, height)), Pen.LEVEL),)
