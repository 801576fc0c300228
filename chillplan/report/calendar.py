"""``calendar.ics``: the year's tasks, visits and expected sprouts, with reminders (RFC 5545).

Every event is all-day, so that its date is the same in every time zone, and carries an identifier made of the site,
the season, the species and the step: importing a later plan moves the events that are there instead of doubling them.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta

from icalendar import Alarm, Calendar, Event, vText

from chillplan.advice.calendar_dates import expected_emergence
from chillplan.advice.result import Plan, SpeciesAdvice, Task, Visit
from chillplan.report.labels import LABEL_WAYS, batch_identifier
from chillplan.report.markup import clean
from chillplan.report.reader import Reader
from chillplan.report.record import Source, what_if
from chillplan.report.when_words import way_words
from chillplan.seasons.cut import season_label

__all__ = ["calendar_bytes"]

EPOCH = date(2000, 1, 1)  # sequence numbers count the days since, so that a later plan outranks an earlier one
MORNING = timedelta(hours=8)
LONG_WINDOW = 14  # a window of so many days is called again before it closes [day]
CLOSING = timedelta(days=-3)
HILL = "hill"
SUNDAY = 6
WARMEST_COLD = 5.0
"""Seed that needs more than this to sprout does not in the refrigerator. Its upper end, common practice. [°C]"""
SPROUTED = "Pot what has sprouted, root down, cool and bright; never back into warmth while frost threatens."
KIND_WORDS = {
    "coat": "prepare the seed of",
    "sow": "sow",
    "warm phase": "into the warm:",
    "cold phase": "into the cold:",
    "lift": "lift",
    "plant out": "plant out",
    "pick": "pick",
    "store": "store",
}
LOOK_FOR = {
    "coat": "Look for: seeds that swell have taken up water; treat those again that stay hard.",
    "sow": "Look for: ground neither frozen nor waterlogged; mesh against mice and birds for large seed.",
    "warm phase": "Look for: medium as moist as a wrung-out cloth, no free water, some air in the bag.",
    "cold phase": "Look for: 1 to 5 °C in the bag, medium as moist as a wrung-out cloth, no fruit beside it.",
    "lift": "Look for: root tips; seed that has sprouted is planted at once; `chillplan season` says what is owed.",
    "plant out": "Look for: the week's frost forecast; soil warm and moist.",
    "check": "Look for: mould (take out what is soft, rinse the rest), drying (moisten), sprouts (plant at once).",
}

LOOK_FOR_CLEAN = "Look for: clean, firm seed; throw out what is soft or hollow."


def calendar_bytes(plan: Plan, source: Source, reader: Reader) -> bytes:
    """The calendar as it is written to disk."""
    calendar = Calendar()
    calendar.add("prodid", "-//chillplan//planning calendar//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    name = _line(f"{plan.site.name}, chilling plan {season_label(plan.season)}")
    calendar["NAME"] = calendar["X-WR-CALNAME"] = vText(name)
    if source.invented:
        calendar.add("description", "The weather behind these dates is invented: a demo, for no real place.")
    elif plan.warming:
        calendar.add("description", what_if(plan.warming, reader))
    maker = _Maker(plan, source, reader)
    for event in maker.events():
        calendar.add_component(event)
    return bytes(calendar.to_ical())


class _Maker:
    """Turns a plan into events."""

    def __init__(self, plan: Plan, source: Source, reader: Reader) -> None:
        self.plan, self.source, self.reader = plan, source, reader
        self.advice = {advice.species.name: advice for advice in plan.species}
        self.stamp = datetime(plan.today.year, plan.today.month, plan.today.day, tzinfo=UTC)

    def events(self) -> Iterable[Event]:
        """All events in the order of their dates: visits, a list a week for the work at home, seedlings by month."""
        tasks = self.plan.tasks
        visited = {(task.species, task.key) for visit in self.plan.visits for task in visit.tasks}
        found = [self._task(task) for task in tasks if task.place == HILL and (task.species, task.key) not in visited]
        found += [self._visit(visit) for visit in self.plan.visits]
        weeks: dict[date, list[Task]] = {}
        for task in tasks:
            if task.place != HILL:
                weeks.setdefault(self._looking_day(task.date_from), []).append(task)
        looks = {day for day, some in weeks.items() if all(_kind(task) == "check" for task in some)}
        found += [self._week(day, some) for day, some in weeks.items() if day not in looks]
        found += [self._looks(sorted(looks), weeks)] if looks else []
        found += self._seedlings()
        return sorted(found, key=lambda event: (event.start, str(event["summary"])))

    def _looking_day(self, day: date) -> date:
        """The day of the week on which all that is in the cold is looked at, in the week of a day, Monday to Sunday."""
        looks = [task.date_from.weekday() for task in self.plan.tasks if _kind(task) == "check"]
        usual = max(set(looks), key=looks.count) if looks else SUNDAY
        return day + timedelta(days=usual - day.weekday())

    def _week(self, looking_day: date, tasks: list[Task]) -> Event:
        """One list for a week at home: what is begun, each with its day, and what is looked at."""
        begun = [task for task in tasks if _kind(task) != "check"]
        looked = list(dict.fromkeys(task.species for task in tasks if _kind(task) == "check"))
        lines = []
        for task in begun:
            kind, way = _kind(task), way_words(self.plan, task)
            lines += [
                f"{self.reader.day(task.date_from)}: {self._name(task.species)}: {self.reader.words(task.action)}."
                + (f" One of two ways, {way}: do one of them, or give each a part of the seed." if way else ""),
                self.reader.words(self._look_for(task.species, kind)),
                self._label(task) if kind in {"coat", "warm phase", "cold phase"} else "",
                *self._cautions(task.species, kind),
            ]
        if looked:
            lines.append(f"{self.reader.day(looking_day)}: look at {', '.join(map(self._name, looked))}.")
            lines.append(self.reader.words(LOOK_FOR["check"]))
            ready = [self._name(name) for name in looked if self._may_sprout(name, looking_day)]
            if ready:
                lines.append(f"Sprouts are possible, look every 2 to 3 days: {', '.join(ready)}. {SPROUTED}")
        parts = [f"{KIND_WORDS.get(_kind(task), _kind(task))} {self._name(task.species)}" for task in begun]
        if looked:
            parts.append(f"look at {len(looked)} in the cold")
        days = [task.date_from for task in begun] or [looking_day]
        event = self._event("", f"week/{looking_day:%G-%V}", "; ".join(dict.fromkeys(parts)), min(days), max(days))
        event.add("location", "home")
        alarms = [MORNING, MORNING - timedelta(days=1)] if begun else []
        return self._finished(event, lines, alarms, 1)

    def _looks(self, days: list[date], weeks: dict[date, list[Task]]) -> Event:
        """The weeks in which there is nothing to do but look, as one repeated event (RFC 5545, 3.8.5)."""
        spans: dict[str, list[date]] = {}
        for day in days:
            for task in weeks[day]:
                spans.setdefault(task.species, []).append(day)
        event = self._event("", "looks", "look at everything in the cold", days[0], days[0])
        event.add("location", "home")
        event.add("rrule", {"freq": "weekly", "until": days[-1]})
        between = (days[0] + timedelta(weeks=number) for number in range((days[-1] - days[0]).days // 7))
        for day in between:
            if day not in days:
                event.add("exdate", day, parameters={"VALUE": "DATE"})
        lines = [
            *(f"{self._name(name)}: {self.reader.span(some[0], some[-1])}." for name, some in spans.items()),
            self.reader.words(LOOK_FOR["check"]),
            *(
                f"{self._name(name)}: sprouts are possible from {self.reader.day(first)}, look every 2 to 3 days then."
                for name, some in spans.items()
                if (first := next((day for day in some if self._may_sprout(name, day)), None))
            ),
            SPROUTED,
        ]
        return self._finished(event, lines, [], 1)

    def _may_sprout(self, species: str, day: date) -> bool:
        """Whether the least demanding tenth may have had its cold, and the cold does not forbid it to sprout."""
        advice = self.advice[species]
        cold = [phase for phase in advice.recipe.phases if phase.kind == "cold"]
        begins = [task.date_from for task in self.plan.tasks if task.species == species and _kind(task) == "cold phase"]
        if not cold or not begins or advice.species.germination.base_temperature >= WARMEST_COLD:
            return False
        spared = 0 if advice.top_up else round(cold[-1].days[0])
        return day >= max(begins) + timedelta(days=spared)

    def _task(self, task: Task) -> Event:
        kind = _kind(task)
        shown = self._name(task.species)
        words = KIND_WORDS.get(kind, kind)
        window = (task.date_to - task.date_from).days + 1
        between = f" (until {self.reader.short(task.date_to)})" if kind in {"sow", "lift"} and window > 1 else ""
        way = way_words(self.plan, task)
        lines = [
            self.reader.words(task.action[0].upper() + task.action[1:]) + ".",
            f"One of two ways, {way}: do one of them, or give each a part of the seed." if way else "",
            self.reader.words(self._look_for(task.species, kind)),
            self._label(task),
            f"Any day from {self.reader.span(task.date_from, task.date_to)}." if window > 1 else "",
            *self._cautions(task.species, kind),
        ]
        event = self._event(
            task.species,
            task.key or task.action,
            f"{words} {shown}{between}{' (one of two ways)' if way else ''}",
            task.date_from,
            task.date_to,
        )
        event.add("location", task.place)
        alarms = [MORNING, MORNING - timedelta(days=1)]
        return self._finished(event, lines, alarms, window)

    def _visit(self, visit: Visit) -> Event:
        first = min(visit.tasks, key=lambda task: (task.date_to, task.species, task.key))
        event = self._event(
            first.species, f"visit/{first.key}", f"visit the hill: {_count(visit.tasks)}", visit.date, visit.date
        )
        event.add("location", self.plan.site.name)
        minutes = sum(task.minutes for task in visit.tasks)
        lines = [
            f"Light from {visit.daylight_from} to {visit.daylight_to}; about {minutes} minutes of work.",
            *(
                line
                for task in visit.tasks
                for line in (
                    f"- {self._name(task.species)}: {self.reader.words(task.action)}",
                    self.reader.words(self._look_for(task.species, _kind(task))) if _kind(task) == "lift" else "",
                    *self._cautions(task.species, _kind(task)),
                )
            ),
        ]
        return self._finished(event, lines, [MORNING - timedelta(days=3), MORNING - timedelta(days=1)], 1)

    def _seedlings(self) -> list[Event]:
        """What comes up, an event for each month in which it begins."""
        months: dict[date, list[tuple[str, date, date]]] = {}
        for name, (first, last) in expected_emergence(self.plan).items():
            if last >= self.plan.today and "outdoors" in self.advice[name].ways:
                months.setdefault(first.replace(day=1), []).append((name, first, last))
        found = []
        for month, rows in months.items():
            begin, end = min(first for _, first, _ in rows), max(last for _, _, last in rows)
            event = self._event("", f"seedlings/{month}", f"seedlings expected: {len(rows)} species", begin, end)
            event.add("location", HILL)
            lines = [
                *(
                    f"{self._name(name)}: eight in ten from {self.reader.span(first, last)}."
                    for name, first, last in rows
                ),
                self.reader.words(f"Modelled over {self.plan.winters.years.size} past winters."),
                "Look for: rows where you marked the bed; cover against frost, slugs and birds; count what is up.",
            ]
            found.append(self._finished(event, lines, [], 1))
        return found

    def _event(self, species: str, key: str, summary: str, first: date, last: date) -> Event:
        event = Event()
        event.add("uid", self._uid(species, key))
        event.add("dtstamp", self.stamp)
        event.add("last-modified", self.stamp)
        event.add("sequence", max((self.plan.today - EPOCH).days, 0))
        event.add("summary", _line(summary[0].upper() + summary[1:]))
        event.add("dtstart", first)
        event.add("dtend", last + timedelta(days=1))
        event.add("transp", "TRANSPARENT")
        return event

    def _finished(self, event: Event, lines: list[str], alarms: list[timedelta], window: int) -> Event:
        invented = ["The weather behind this date is invented (demo)."] if self.source.invented else []
        event.add("description", "\n".join(clean(line) for line in [*lines, *invented] if line))
        for trigger in alarms:
            event.add_component(_alarm(str(event["summary"]), trigger))
        if window >= LONG_WINDOW:
            event.add_component(_alarm(f"closes in 3 days: {event['summary']}", CLOSING + MORNING, closing=True))
        return event

    def _uid(self, species: str, key: str) -> str:
        site = self.plan.site
        parts = (site.name, f"{site.latitude:.4f}", f"{site.longitude:.4f}", str(self.plan.season), species, key)
        return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()[:32] + "@chillplan"

    def _label(self, task: Task) -> str:
        """What stands on the bag or the bed, with the batch that its code holds."""
        words = self.reader.words(task.label) or f"{task.species} ({self._name(task.species)})"
        way = task.key.partition("/")[0]
        batch = (
            f"; batch {batch_identifier(self.plan.season, task.species, LABEL_WAYS[way])}" if way in LABEL_WAYS else ""
        )
        return f"Label: {words}{batch}"

    def _name(self, species: str) -> str:
        advice: SpeciesAdvice | None = self.advice.get(species)
        return (advice.species.common_name or species) if advice else species

    def _look_for(self, species: str, kind: str) -> str:
        if kind == "coat" and not (species in self.advice and self.advice[species].recipe.opens_coat):
            return LOOK_FOR_CLEAN
        return LOOK_FOR.get(kind, "")

    def _cautions(self, species: str, kind: str) -> list[str]:
        if kind not in {"coat", "lift"} or species not in self.advice:
            return []
        return [f"Caution: {self.reader.words(caution)}" for caution in self.advice[species].cautions]


def _kind(task: Task) -> str:
    return task.key.split("/")[1] if "/" in task.key else "check"


def _alarm(words: str, trigger: timedelta, closing: bool = False) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", _line(words))
    alarm.add("trigger", trigger, parameters={"RELATED": "END"} if closing else {})
    return alarm


def _line(words: str) -> str:
    return clean(words).replace("\n", " ")


def _count(tasks: tuple[Task, ...]) -> str:
    return "1 task" if len(tasks) == 1 else f"{len(tasks)} tasks"
