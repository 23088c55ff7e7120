"""What is chosen about a log before it is fitted: columns, call-outs, passes, what to fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from thermo.errors import Problem, ScenarioError, SoakboxError
from thermo.fit import default_names
from thermo.fit_parameters import PARAMETERS, Parameter, parameters_of
from thermo.log_checks import Finding, blocking, look_over
from thermo.log_columns import NO_COLUMN, Mapped, guess, split_header
from thermo.log_csv import Log, read_log
from thermo.log_layout import LogError
from thermo.log_passes import Pass, find_passes
from thermo.log_preview import Prediction, predictions
from thermo.log_survey import Survey, survey

if TYPE_CHECKING:
    from thermo.scenario import Scenario


@dataclass(frozen=True, slots=True)
class ColumnRow:
    """One column of the file, and what it is taken for.

    Attributes
    ----------
    place : int
        From 0.
    header, sample : str
        As written; the first filled cell.
    channel : str
        Empty when it is not used.
    unit : str
        As it is read; empty when it is not known.
    problem : str
        Why it cannot be taken for that channel; empty when it can.
    by_hand : bool
        Whether the user said so.
    """

    place: int
    header: str
    sample: str
    channel: str
    unit: str
    problem: str
    by_hand: bool


@dataclass(frozen=True, slots=True)
class Looked:
    """What a log holds, and how it stands to a scenario.

    Attributes
    ----------
    survey : Survey or None
        The columns of the file.
    log : Log or None
        Without what is left out; None where it cannot be read.
    problems : tuple of Problem
        What keeps it from being read or compared.
    findings : tuple of Finding
    passes : tuple of Pass
    previews : tuple of Prediction
    usual : tuple of str
        Names of what the log has a say in.
    """

    survey: Survey | None = None
    log: Log | None = None
    problems: tuple[Problem, ...] = ()
    findings: tuple[Finding, ...] = ()
    passes: tuple[Pass, ...] = ()
    previews: tuple[Prediction, ...] = ()
    usual: tuple[str, ...] = ()


@dataclass
class LogSetup:
    """The choices about one log.

    Attributes
    ----------
    path : pathlib.Path
    survey : Survey or None
        Its columns, once they have been looked at.
    columns : dict of int to (str, str)
        Channel and unit that the user gave to a column; no channel for one not to be used.
    accepted : set of str
        Tags of call-outs to go on regardless of.
    left_out : set of str
        Channels not to be used.
    passes_off : set of int
        Numbers of passes not to be used.
    names : set of str or None
        What to fit; what the log has a say in when None.
    """

    path: Path
    survey: Survey | None = None
    columns: dict[int, tuple[str, str]] = field(default_factory=dict)
    accepted: set[str] = field(default_factory=set)
    left_out: set[str] = field(default_factory=set)
    passes_off: set[int] = field(default_factory=set)
    names: set[str] | None = None

    def mapping(self) -> tuple[str, ...]:
        """Return the columns as the user gave them, as :func:`read_log` takes them."""
        given = {channel for channel, _ in self.columns.values() if channel}
        texts = [
            f"{channel}=#{place + 1}:{unit}"
            for place, (channel, unit) in self.columns.items() if channel
        ]
        headers = [] if self.survey is None else [c.header for c in self.survey.columns]
        freed = {guess(headers[place]) for place in self.columns if place < len(headers)}
        for channel in sorted(freed - given - {""}):
            rest = [place for place, header in enumerate(headers)
                    if guess(header) == channel and place not in self.columns]
            if not rest:
                texts.append(f"{channel}={NO_COLUMN}")
            elif len(rest) == 1:
                texts.append(f"{channel}=#{rest[0] + 1}")
        return tuple(texts)

    def rows(self) -> tuple[ColumnRow, ...]:
        """Return every column with what it is taken for."""
        if self.survey is None:
            return ()
        choices, problems = self.survey.choices(self.mapping())
        taken = {choice.place: choice for choice in choices}
        wrong = {problem.key: problem for problem in problems}
        rows = []
        for column in self.survey.columns:
            choice, by_hand = taken.get(column.place), column.place in self.columns
            channel, unit = self.columns.get(column.place, (guess(column.header), ""))
            problem = ""
            if choice is not None:
                channel, unit = choice.channel, choice.unit
            elif channel in wrong and not (by_hand and channel == ""):
                problem = wrong[channel].allowed
            else:
                channel = unit = ""
            rows.append(ColumnRow(
                column.place, column.header, column.sample, channel, unit, problem, by_hand))
        return tuple(rows)

    def unit_of(self, place: int) -> str:
        """Return the unit that the file states for a column; empty where it states none."""
        if self.survey is None:
            return ""
        column = self.survey.columns[place]
        return split_header(column.header)[1] or column.unit

    def assign(self, place: int, channel: str, unit: str = "") -> None:
        """Take a column for a channel, or for none; the one that had the channel is freed.

        Parameters
        ----------
        place : int
        channel : str
            Empty when the column is not to be used.
        unit : str
            Empty for the one that the file states.
        """
        for other, (taken, _) in list(self.columns.items()):
            if channel and taken == channel and other != place:
                self.columns[other] = ("", "")
        self.columns[place] = (channel, unit)
        self.left_out.discard(channel)

    def mend(self, columns: Sequence[Mapped]) -> None:
        """Take columns as a call-out says."""
        for one in columns:
            self.columns.pop(one.place, None)
        for one in columns:
            self.assign(one.place, one.channel, one.unit)

    def fitted(self, looked: Looked) -> tuple[str, ...]:
        """Return the names of what is to be fitted, in their usual order."""
        chosen = set(looked.usual) if self.names is None else self.names
        return tuple(name for name in PARAMETERS if name in chosen)

    def passes(self, looked: Looked) -> tuple[int, ...]:
        """Return the numbers of the passes to be used."""
        return tuple(p.number for p in looked.passes if p.number not in self.passes_off)

    def stopping(self, looked: Looked) -> tuple[Finding, ...]:
        """Return the call-outs that still stop a fit."""
        return blocking(looked.findings, tuple(self.accepted))


def look(
    path: Path, mapping: Sequence[str], left_out: Sequence[str], scenario: Scenario
) -> Looked:
    """Read a log and lay it over a scenario.

    Parameters
    ----------
    path : pathlib.Path
    mapping : sequence of str
        As :func:`thermo.log_csv.read_log` takes it.
    left_out : sequence of str
        Channels not to be used.
    scenario : Scenario

    Returns
    -------
    Looked
        With the problems where it cannot be read or compared.

    Raises
    ------
    LogError
        The file has no columns at all.
    """
    found = survey(path)
    try:
        log = read_log(path, mapping).without(left_out)
    except LogError as error:
        return Looked(found, None, tuple(error.problems))
    try:
        findings, laid = look_over(log, scenario)
        return Looked(found, log, (), findings, find_passes(log), predictions(laid),
                      default_names(scenario, log))
    except ScenarioError as error:
        return Looked(found, log, tuple(error.problems))
    except SoakboxError as error:
        return Looked(found, log, (Problem("", "", str(error)),))


def fittable(scenario: Scenario) -> dict[str, Parameter | str]:
    """Return what can be fitted by name: looked up in a scenario, or why it does not apply.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    dict of str to (Parameter or str)
    """
    found: dict[str, Parameter | str] = {}
    for name in PARAMETERS:
        try:
            found[name] = parameters_of(scenario, (name,))[0]
        except ScenarioError as error:
            found[name] = "; ".join(problem.allowed for problem in error.problems)
    return found
