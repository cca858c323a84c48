"""An exam paper: a form with the scenarios, values and words that one sitting meets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from scoring.attempt import Answer, Header, SeatedScenario
from scoring.faults import FaultError
from scoring.form import Form
from scoring.instance import Instance
from scoring.library import Library
from scoring.model import digest
from scoring.scenario import Decision
from scoring.site import SiteValues
from scoring.words import Words


@dataclass(frozen=True, slots=True)
class Question:
    """One decision of a paper.

    Attributes
    ----------
    number : int
        Place in the whole exam, from 1.
    part : int
        Place of its scenario in the form, from 1.
    opens : bool
        It is the first of its part.
    """

    number: int
    part: int
    opens: bool
    decision: Decision
    instance: Instance

    @property
    def scenario(self) -> str:
        """Id of the scenario."""
        return self.instance.scenario.id


class Paper:
    """What one sitting meets: instances by the seeds of its header, and the words.

    Parameters
    ----------
    form : Form
    library : Library
        Holds the form's scenarios.
    site : SiteValues
    seated : sequence of SeatedScenario
        From the header of the sitting's log.
    language : str
        Two letters.
    """

    def __init__(
        self,
        form: Form,
        library: Library,
        site: SiteValues,
        seated: Sequence[SeatedScenario],
        language: str,
    ) -> None:
        self.form = form
        self.language = language
        self._library = library
        self._instances = [library.instance(part.id, site, part.seed) for part in seated]

    @classmethod
    def of(cls, header: Header, form: Form, library: Library, site: SiteValues) -> Paper:
        """Return the paper of a sitting that has begun.

        Raises
        ------
        FaultError
            Form, scenarios or site values are not those that the sitting began with.
        """
        for what, now, then in (
            ("form, scenario or instrument", library.form_digest(form), header.form_digest),
            ("site values file", digest(site), header.site_digest),
        ):
            if now != then:
                raise FaultError.one(
                    f"sitting {header.sitting}",
                    f"form {form.name}",
                    found=f"a {what} that was changed since the sitting began",
                    wanted="the exam as it was",
                    remedy="Undo the change: what is being sat is never edited.",
                )
        return cls(form, library, site, header.scenarios, header.language)

    @property
    def title(self) -> str:
        """Title of the exam."""
        return self.form.title.get(self.language, self.form.title["en"])

    @property
    def parts(self) -> int:
        """How many scenarios there are."""
        return len(self._instances)

    @cached_property
    def questions(self) -> tuple[Question, ...]:
        """Every decision in the order it is met."""
        pairs = [
            (part, place, decision, instance)
            for part, instance in enumerate(self._instances, start=1)
            for place, decision in enumerate(instance.scenario.decisions)
        ]
        return tuple(
            Question(number, part, place == 0, decision, instance)
            for number, (part, place, decision, instance) in enumerate(pairs, start=1)
        )

    @cached_property
    def _words(self) -> dict[str, Words]:
        return {
            instance.scenario.id: self._library.words(instance.scenario.id, self.language)
            for instance in self._instances
        }

    def words(self, question: Question) -> Words:
        """Return the words of the question's scenario."""
        return self._words[question.scenario]

    def next_question(self, answers: Sequence[Answer]) -> Question | None:
        """Return the first decision without an answer, or None when all have one."""
        given = {(answer.scenario, answer.decision) for answer in answers}
        return next(
            (
                question
                for question in self.questions
                if (question.scenario, question.decision.id) not in given
            ),
            None,
        )
