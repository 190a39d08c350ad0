"""The weight of a set against its limit, as a bar and a paper show it."""

from __future__ import annotations

from dataclasses import dataclass

from assembly.rules.deciding.set_facts import SetQuestion
from assembly.rules.findings import Decision, Finding, Rule, Show, Status
from assembly.rules.telling.decided import STATE_OF_WEIGHT, weight_words

NOT_WEIGHED = Rule("gross weight", "the department's supplies").cannot_tell(
    "Nothing in stock is there to weigh it in.", "packaging"
)
LIMITED = ("gross weight", "load weight", "net weight")


@dataclass(frozen=True, slots=True)
class WeightBar:
    """A weight against its limit, as a bar shows it; ``doubt`` is what is odd about a reading."""

    finding: Finding
    known_g: float
    unknown: tuple[str, ...]
    from_scale: bool = False
    doubt: str = ""

    ROOM = 1.15

    @property
    def state(self) -> str:
        return STATE_OF_WEIGHT[self.finding.status]

    @property
    def weighed(self) -> str:
        """Which weight it is."""
        return self.finding.rule.capitalize()

    @property
    def words(self) -> str:
        """The weight, its limit and how they compare, in the one wording of pages and papers."""
        return weight_words(self.known_g, self.finding.limit, self.finding.status,
                            at_least=bool(self.unknown) and not self.from_scale)  # fmt: skip

    @property
    def known_kg(self) -> str:
        return f"{self.known_g / 1000:.2f} kg"

    @property
    def limit_kg(self) -> str:
        return f"{self.finding.limit / 1000:.2f} kg" if self.finding.limit else ""

    @property
    def share(self) -> float | None:
        """Known weight in percent of the limit; None where there is no limit."""
        return 100 * self.known_g / self.finding.limit if self.finding.limit else None

    @property
    def bar_limit(self) -> float:
        """Where the limit stands on the bar, in percent of its width."""
        return round(100 * 100 / max(100.0, self.share or 0.0) / self.ROOM, 2)

    @property
    def bar_fill(self) -> float:
        """How far the bar is filled, in percent of its width."""
        return round((self.share or 0.0) / 100 * self.bar_limit, 2)


def weight_bar(
    decision: Decision, question: SetQuestion, shown: str | None, no_supply: bool, show: Show
) -> WeightBar:
    """The gross weight, or the weight that the policy limits where that is another.

    ``shown`` is the code of the packaging that it is reckoned in; ``no_supply`` where that is not
    on record. Each name that is not weighed stands once.
    """
    found = {f.rule: f for f in decision.findings if f.rule in LIMITED}
    limited = [f for f in found.values() if f.limit is not None]
    finding = next(iter(limited or found.values()), NOT_WEIGHED)
    known = finding.amounts.get("known", (_net_g(question), "g"))[0]
    unknown = list(dict.fromkeys(
        line.instrument.name for line in question.lines if line.instrument.weight_g is None
    ))  # fmt: skip
    if no_supply and "packaging" not in unknown:
        unknown.append("the packaging (not on record)")
    read = next((f for f in decision.findings if f.rule == "scale reading"), None)
    state = read.status if read else Status.DOES_NOT_APPLY
    here = shown is not None and shown == question.weighed
    doubt = read.sentence(show) if read and state is Status.CANNOT_TELL else ""
    return WeightBar(finding, known, tuple(unknown), here and state is Status.MET, doubt)


def _net_g(question: SetQuestion) -> float:
    return sum((line.instrument.weight_g or 0.0) * line.quantity for line in question.lines)
