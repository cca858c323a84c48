"""What stands around every screen of a lesson page."""

from __future__ import annotations

from dataclasses import dataclass

from lessons.page.interface import Interface, interface
from lessons.page.screens import Frame, Progress, button
from scoring.model import Station


@dataclass(frozen=True)
class Around:
    """What is the same on every screen of one page.

    Attributes
    ----------
    language : str
        Two letters.
    station : Station
        Whose lessons these are.
    home : str or None
        URL of the start page.
    """

    language: str
    station: Station
    home: str | None = None

    @property
    def words(self) -> Interface:
        """The page's words."""
        return interface(self.language)

    def station_name(self) -> str:
        """Return the station's name."""
        return self.words.say(f"station_{self.station}")

    def frame(
        self,
        heading: str,
        *,
        operator: str = "",
        progress: Progress | None = None,
        saved: str = "",
        notice: str = "",
        token: str | None = None,
    ) -> Frame:
        """Return a frame with the way home and the way to sign out."""
        say = self.words.say
        return Frame(
            language=self.language,
            heading=heading,
            progress=progress,
            saved=saved,
            notice=notice,
            store=f"sinkside:lesson:{self.station}",
            token=token,
            place=self.station_name(),
            home={"label": say("start_title"), "to": self.home} if self.home else None,
            who=operator,
            aside=button(say("other_person"), "sign_out") if operator else None,
        )
