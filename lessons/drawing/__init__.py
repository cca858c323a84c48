"""What an instrument looks like now: pictures drawn by code from the bench's state."""

from lessons.drawing.outline import Spot
from lessons.drawing.picture import Picture, draw, spots

__all__ = ["Picture", "Spot", "draw", "spots"]
