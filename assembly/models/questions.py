"""What waits for a coordinator: values that somebody measured, questions from the bench, and IFUs
to be compared with the maker's current one."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from assembly.models.base.steps import Step, WithSteps
from assembly.models.base.written_once import WrittenOnce
from assembly.models.builds import Build
from catalog.models import Instrument, InstrumentSet


class Asked(WithSteps):
    """What a person brought before a coordinator, and when it was done with."""

    key = models.CharField(max_length=64, unique=True)
    asker = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    asked_by = models.CharField(max_length=150)
    asked_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True
        ordering = ["asked_at", "pk"]
        indexes = [models.Index(fields=["state", "asked_at"])]


class Proposal(Asked):
    """Values for what an instrument's record does not say. They decide nothing.

    A coordinator confirms them, which writes them into the catalog, or turns them down.
    ``values`` holds each by its column, plain as the history holds it (``"12.5"``, False).
    """

    class State(models.TextChoices):
        PROPOSED = "proposed", "Proposed"
        CONFIRMED = "confirmed", "Confirmed"
        TURNED_DOWN = "turned down", "Turned down"
        TAKEN_BACK = "taken back", "Taken back"

    ENDED = (State.CONFIRMED, State.TURNED_DOWN, State.TAKEN_BACK)

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="proposals")
    values = models.JSONField()
    measured_by = models.CharField("who measured", max_length=150)
    note = models.CharField("how it was measured", max_length=200, blank=True)
    state = models.CharField(max_length=12, choices=State, default=State.PROPOSED)

    def __str__(self) -> str:
        return f"{len(self.values)} proposed for {self.instrument}"


class ProposalStep(Step):
    """One thing that happened to a proposal, and how it stood then."""

    proposal = models.ForeignKey(Proposal, models.CASCADE, related_name="steps")
    state = models.CharField(max_length=12, choices=Proposal.State)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["proposal", "number"], name="one_proposal_step"),
            models.UniqueConstraint(fields=["proposal", "key"], name="one_proposal_step_a_key"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.by} {self.state}"


class Question(Asked):
    """What somebody at the bench asks a coordinator, about one thing and maybe one finding.

    ``allowed`` is the override that an answer signs, empty where it is words alone: what to
    ``take`` in which ``programme``, and each of the ``findings`` accepted, by its key, with its
    sentence and the reason. It serves one package, and the question is closed with it.
    """

    class State(models.TextChoices):
        ASKED = "asked", "Asked"
        ANSWERED = "answered", "Answered"
        CLOSED = "closed", "Closed"

    ENDED = (State.CLOSED,)

    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, related_name="questions")
    instrument_set = models.ForeignKey(
        InstrumentSet, models.PROTECT, null=True, related_name="questions"
    )
    build = models.ForeignKey(Build, models.PROTECT, null=True, related_name="questions")
    finding = models.CharField("what stands in the way", max_length=400, blank=True)
    words = models.CharField(max_length=300, blank=True)
    answer = models.CharField(max_length=300, blank=True)
    allowed = models.JSONField("override that the answer signs", default=dict, blank=True)
    answerer = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+"
    )
    answered_by = models.CharField(max_length=150, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=12, choices=State, default=State.ASKED)

    class Meta(Asked.Meta):
        constraints = [
            models.CheckConstraint(
                condition=models.Q(instrument__isnull=False, instrument_set=None, build=None)
                | models.Q(instrument=None, instrument_set__isnull=False, build=None)
                | models.Q(instrument=None, instrument_set=None, build__isnull=False),
                name="question_about_one_thing",
            ),
            models.CheckConstraint(
                condition=~models.Q(state="answered") | ~models.Q(answered_by=""),
                name="question_answered_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"question about {self.about}"

    @property
    def about(self) -> Instrument | InstrumentSet | Build:
        """What it asks about."""
        thing = self.instrument or self.instrument_set or self.build
        assert thing is not None
        return thing


class QuestionStep(Step):
    """One thing that happened to a question, and how it stood then."""

    question = models.ForeignKey(Question, models.CASCADE, related_name="steps")
    state = models.CharField(max_length=12, choices=Question.State)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["question", "number"], name="one_question_step"),
            models.UniqueConstraint(fields=["question", "key"], name="one_question_step_a_key"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.by} {self.state}"


class IfuComparison(WrittenOnce):
    """Somebody compared an instrument's record with the maker's current IFU: when, by whom, and
    the revision that it had, blank where it says none."""

    key = models.CharField(max_length=64, unique=True)
    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="ifu_comparisons")
    revision = models.CharField("IFU revision", max_length=20, blank=True)

    class Meta:
        verbose_name = "IFU comparison"
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"IFU of {self.instrument}"
