"""The light budget used over a display, and the rotation that would hold it."""

from __future__ import annotations

from leastwise.api.drawings.axes import Axes, Scale, round_ticks
from leastwise.api.drawings.svg import ACCENT, INK, QUIET, Sheet
from leastwise.graph.setups.checks import LightAnswer

__all__ = ["light_budget"]

LEFT, RIGHT = 66, 616
YEAR = 365


def light_budget(answer: LightAnswer) -> str:
    """Return the dose of a display against the budget, and a rotation, as SVG."""
    sheet = Sheet("lw-light")
    y = _dose(sheet, 30, answer)
    if answer.rotation is not None:
        y = _rotation(sheet, y + 30, answer)
    words = "Light dose against time, with the budget as a stair of years. " + " ".join(answer.says)
    return sheet.render(y + 12, "Light budget used over the display", words)


def _dose(sheet: Sheet, y: float, answer: LightAnswer) -> float:
    plan = answer.planned
    years = len(plan.dose_lx_h_by_year)
    given = f"{answer.lux:g} lx, {answer.hours_per_day:g} h a day, {answer.days} days on show"
    top = sheet.heading(y, "Light budget used over the display", given) + 34
    budget, last = plan.budget_lx_h_per_year / 1000, YEAR * years
    dose = [one / 1000 for one in plan.cumulative_dose_lx_h]
    highest = 1.12 * max(budget * years, dose[-1])
    axes = Axes(sheet, Scale(0, last, LEFT, RIGHT), Scale(0, highest, top + 220, top))
    for tick in round_ticks(0, highest, 6):
        axes.y_tick(tick, f"{tick:g}")
    for tick, words in _day_ticks(years):
        axes.x_tick(tick, words)
    stair = [(0.0, budget)]
    for n in range(years):
        stair += [(float(YEAR * n), budget * (n + 1)), (float(YEAR * (n + 1)), budget * (n + 1))]
    steps = [(axes.x(day), axes.y(level)) for day, level in stair]
    under = [*steps, (RIGHT, top + 220), (LEFT, top + 220)]
    sheet.area(under, fill="#f4f1ea")
    sheet.area(under, fill=sheet.pattern("back"))
    sheet.line(steps, stroke_width=1.8, stroke_dasharray="10 3 2 3")
    sheet.line(axes.points(plan.days, dose), stroke=ACCENT, stroke_width=2.8)
    axes.frame()
    axes.y_name("dose, klx h")
    _used_up(axes, answer)
    return _key(sheet, top + 262, answer)


def _day_ticks(years: int) -> list[tuple[float, str]]:
    """Return days, or years where the display is long."""
    if years <= 2:
        return [(tick, f"{tick:g}") for tick in round_ticks(0, YEAR * years, 8)]
    return [(YEAR * tick, f"year {tick:g}") for tick in round_ticks(0, years, 8) if tick % 1 == 0]


def _used_up(axes: Axes, answer: LightAnswer) -> None:
    """Mark the day on which the first year's budget is spent, if it is."""
    day = answer.days_within_budget
    if day is not None and day < min(answer.days, YEAR):
        axes.mark(day, f"budget of the year used up on day {int(day) + 1}", rightward=True)


def _key(sheet: Sheet, y: float, answer: LightAnswer) -> float:
    budget = answer.rule.budget
    yearly = f"{answer.planned.budget_lx_h_per_year / 1000:g} klx h a year"
    rows = (
        ("dose", "dose of the display so far"),
        ("budget", f"budget so far: {yearly} ({budget.category.name}, {answer.rule.ruling.name})"),
    )
    for k, (kind, words) in enumerate(rows):
        place = y + 18 * k
        if kind == "dose":
            sheet.line([(LEFT, place), (LEFT + 36, place)], stroke=ACCENT, stroke_width=2.8)
        else:
            sheet.filled((LEFT, place - 2, 36, 9), "back", "#f4f1ea")
            dash = "10 3 2 3"
            ends = [(LEFT, place - 2), (LEFT + 36, place - 2)]
            sheet.line(ends, stroke_width=1.8, stroke_dasharray=dash)
        sheet.text(LEFT + 46, place + 4, words, 12)
    if len(answer.planned.dose_lx_h_by_year) <= 2:
        sheet.text(RIGHT, y - 4, "days from the opening", 12, text_anchor="end", fill=QUIET)
    return y + 18 * len(rows)


def _rotation(sheet: Sheet, y: float, answer: LightAnswer) -> float:
    """Draw show and rest of the rotation as a bar along the years."""
    plan = answer.rotation
    assert plan is not None  # noqa: S101 - asked before
    cycle = "every year" if plan.cycle_years == 1 else f"in {plan.cycle_years} years"
    said = f"{plan.show_days} days on show {cycle}, {plan.rest_days} days at rest"
    top = sheet.heading(y, "A rotation that holds the budget", said) + 8
    cycles = max(1, len(plan.periods))
    days = cycles * plan.cycle_years * YEAR
    x = Scale(0, days, LEFT, RIGHT)
    sheet.rect(LEFT, top, RIGHT - LEFT, 26, fill="#ffffff", stroke=INK, stroke_width=1.2)
    for period in plan.periods:
        start, end = x(period.start_day), x(period.start_day + period.days)
        sheet.rect(start, top, max(1.5, end - start), 26, fill=ACCENT)
        if end - start > 44:
            sheet.text((start + end) / 2, top + 17, "show", 12, text_anchor="middle",
                       fill="#ffffff")  # fmt: skip
    _years_below(sheet, top + 26, x, cycles * plan.cycle_years)
    return top + 52


def _years_below(sheet: Sheet, y: float, x: Scale, years: int) -> None:
    for tick in round_ticks(0, years, 10):
        if tick % 1 == 0:
            place = x(tick * YEAR)
            sheet.line([(place, y), (place, y + 6)])
            sheet.text(place, y + 20, f"{tick:g}", 12, text_anchor="middle")
    sheet.text(LEFT - 10, y + 20, "years", 12, text_anchor="end", fill=QUIET)
