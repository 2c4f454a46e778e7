"""Which drawing belongs to an answer."""

from __future__ import annotations

from leastwise.api.drawings.air import air_chart
from leastwise.api.drawings.humidity import moisture_sheet
from leastwise.api.drawings.light import light_budget
from leastwise.api.drawings.load import load_drawing
from leastwise.graph.setups.answers import MoistureAnswer
from leastwise.graph.setups.checks import AirAnswer, LightAnswer, LoadAnswer

__all__ = ["drawing_of"]


def drawing_of(answer: MoistureAnswer | AirAnswer | LightAnswer | LoadAnswer) -> str | None:
    """Return the drawing of an answer as SVG, or None where none makes sense."""
    if isinstance(answer, MoistureAnswer):
        return moisture_sheet(answer)
    if isinstance(answer, AirAnswer):
        return air_chart(answer)
    if isinstance(answer, LightAnswer):
        return light_budget(answer)
    return load_drawing(answer)
