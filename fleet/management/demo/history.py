"""Two years, day by day: checks and what followed from them, complaints, meter readings."""

from heapq import heappop, heappush
from itertools import count
from uuid import UUID, uuid5

import numpy as np

from fleet.management.demo import words
from fleet.management.demo.builder import build_fleet
from fleet.management.demo.cast import FIRST_DAY, LAST_DAY, MOVED_BEFORE_DAYS, PEOPLE, PLANTED, FoundLately, Person
from fleet.management.demo.choice import Eye, Kit, choose_kit, half_turns_to_make, look, read_by_eye
from fleet.management.demo.events import Complaint, History, MadeCheck, MeterReading, Outcome, Setting
from fleet.management.demo.fleet import Fitment, Truck, sheet_of, specification_on, thirst_of
from fleet.management.demo.instruments import told_errors
from fleet.management.demo.mechanics import Actuator
from fleet.management.demo.streams import SEED, stream
from fleet.management.demo.strokes import Bench, Flaw, Hand, Sheet, TypedReading
from fleet.management.demo.thirsts import SILENT_THIRST

KEYS = UUID("5b1c2f0e-7a64-4e0b-9a51-0d8d3c1f2a77")
# Overshoot is what goes wrong most.
FLAWS = (
    Flaw.OVERSHOOT,
    Flaw.NOT_REACHED,
    Flaw.NO_ZERO_RETURN,
    Flaw.OVERSHOOT,
    Flaw.EXERCISE_SHORT,
    Flaw.PRESSURE_FELL,
)
LAPSED_FROM, TOO_HIGH_FROM = -160, -26
SETTLED_DAYS = 150
NOISE_MM = 0.012  # temperature, soot: what changes between two looks at one setting


def workday(day: int) -> int:
    """The day itself, or the Monday after a weekend."""
    return day + 7 - day % 7 if day % 7 >= 5 else day


class Simulation:
    """Runs the two years. Each unit and truck draws from its own stream."""

    def __init__(self, seed: int) -> None:
        self.seed = seed
        self.history = History(build_fleet(seed))
        self.fleet = self.history.fleet
        self.settings: dict[str, Setting] = {}
        self.queue: list[tuple[int, int, str, Fitment | Truck, str, int | None]] = []
        self.order = count()
        self.planned: dict[int, int] = {}
        self.busy: dict[tuple[str, int], int] = {}
        self.flaws_made: list[Flaw] = []
        self.streams: dict[str, np.random.Generator] = {}

    def run(self) -> History:
        for fitment in self.fleet.fitments:
            self._push(fitment.from_day, "fit", fitment)
            if fitment.found:
                self._push(fitment.found.day - MOVED_BEFORE_DAYS, "move", fitment)
        for truck in self.fleet.trucks:
            first = max(FIRST_DAY, truck.in_service_day) + int(self._random(truck.number).integers(1, 29))
            self._push(first, "month", truck)
        while self.queue and self.queue[0][0] <= LAST_DAY:
            day, _, kind, subject, reason, complaint = heappop(self.queue)
            if isinstance(subject, Truck):
                self._month(subject, day)
            elif kind == "fit":
                self._fit(subject, day)
            elif kind == "move" and subject.found:
                self._move(subject, subject.found, day)
            else:
                self._look(subject, day, reason, complaint)
        return self.history

    def _random(self, name: str) -> np.random.Generator:
        if name not in self.streams:
            self.streams[name] = stream(self.seed, "history", name)
        return self.streams[name]

    def _push(
        self, day: int, kind: str, subject: Fitment | Truck, reason: str = "", complaint: int | None = None
    ) -> None:
        heappush(self.queue, (day, next(self.order), kind, subject, reason, complaint))

    def _plan(self, fitment: Fitment, day: int, reason: str) -> None:
        """Plan the next look at a unit; what was planned before lapses."""
        self.planned[id(fitment)] = workday(day)
        self._push(workday(day), "look", fitment, reason)

    def true_mm(self, fitment: Fitment, moment: float) -> float:
        """Travel at the setting that a perfect check would find."""
        unit, was = self.fleet.units[fitment.serial], self.settings[fitment.serial]
        run = fitment.truck.odometer_km(moment) - was.odometer_km
        jumped = unit.jump[1] if unit.jump and was.day < unit.jump[0] <= moment else 0.0
        return max(was.travel_mm + unit.drift_mm * run / 100_000.0 + jumped, 0.1)

    def _set(self, fitment: Fitment, setting: Setting) -> None:
        self.settings[fitment.serial] = setting
        self.history.settings.setdefault((fitment.serial, fitment.truck.number), []).append(setting)

    def _fit(self, fitment: Fitment, day: int) -> None:
        travel = self.fleet.units[fitment.serial].plant_mm
        if fitment.serial in self.settings:  # a unit that moves keeps its setting
            last = next(f for f in self.fleet.fitments if f.serial == fitment.serial and f is not fitment)
            travel = self.true_mm(last, last.to_day or day)
        self._set(fitment, Setting(travel, fitment.truck.odometer_km(day), day))
        random = self._random(fitment.serial)
        if day > FIRST_DAY:
            seen, reason = day + int(random.integers(70, 105)), "after_fitting"
        else:
            seen, reason = FIRST_DAY + int(random.integers(1, 90)), "scheduled"
        self._plan(fitment, fitment.first_look or seen, reason)

    def _move(self, fitment: Fitment, found: FoundLately, day: int) -> None:
        """Let a setting wander to where it will be found."""
        sheet = self._sheet(fitment, day)
        limit = sheet.upper_mm if found.side > 0 else sheet.lower_mm
        travel = limit + found.side * found.beyond_mm
        self._set(fitment, Setting(travel, fitment.truck.odometer_km(found.day), day))
        self._plan(fitment, found.day, "scheduled")

    @staticmethod
    def _waits(fitment: Fitment, day: int) -> bool:
        """Whether the unit is one of those found outside for which no bay was free yet."""
        return fitment.left_from is not None and day >= workday(fitment.left_from)

    def _sheet(self, fitment: Fitment, day: int) -> Sheet:
        return sheet_of(specification_on(self.fleet.units[fitment.serial].model, day))

    def _side(self, fitment: Fitment, day: int) -> int:
        sheet, travel = self._sheet(fitment, day), self.true_mm(fitment, day)
        return -1 if travel < sheet.lower_mm else int(travel > sheet.upper_mm)

    @staticmethod
    def _stays(fitment: Fitment, day: int) -> bool:
        return fitment.to_day is None or day < fitment.to_day

    def _month(self, truck: Truck, day: int) -> None:
        """Read the meters; perhaps the driver has something to say."""
        random = self._random(truck.number)
        moment = day + 0.23
        self.history.meters.append(
            MeterReading(truck, day, int(truck.odometer_km(moment)), round(truck.engine_hours(moment), 1))
        )
        self._push(day + int(random.integers(27, 33)), "month", truck)
        fitted = [f for f in self.fleet.fitments if f.truck is truck and f.from_day <= day and self._stays(f, day + 15)]
        sides = [side for f in fitted if (side := self._side(f, day))]
        waiting = any(c.truck is truck and c.closed_day is None for c in self.history.complaints)
        if random.random() < self._chance(truck, day, fitted, outside=bool(sides)) and not waiting and fitted:
            kind, who, text = words.complaint_words(random, sides[0] if sides else 0, thirsty=thirst_of(truck, day) > 0)
            raised = day + int(random.integers(1, 5))
            self.history.complaints.append(Complaint(truck, kind, raised, who, text, bool(sides), len(fitted)))
            answered = workday(raised + int(random.integers(3, 9)))
            for fitment in fitted:
                self._push(answered, "look", fitment, "complaint", len(self.history.complaints) - 1)

    def _chance(self, truck: Truck, day: int, fitted: list[Fitment], *, outside: bool) -> float:
        """Chance that the driver complains this month: of what changed, sooner than of what was always so."""
        if any(f.serial in self.fleet.planted["silent"] for f in fitted) or truck.number == SILENT_THIRST:
            return 0.0
        if any(f.first_look and day < max(f.from_day, FIRST_DAY) + SETTLED_DAYS for f in fitted):
            return 0.0
        return 0.22 if outside else 0.25 if thirst_of(truck, day) else 0.012

    def _look(self, fitment: Fitment, day: int, reason: str, complaint: int | None) -> None:
        """Make a check unless its plan lapsed, the unit is gone or nobody looks any more."""
        lapsed = complaint is None and self.planned[id(fitment)] != day
        forgotten = fitment.checked_until is not None and day > fitment.checked_until
        if lapsed or forgotten or not self._stays(fitment, day):
            return
        random = self._random(fitment.serial)
        here = [p for p in PEOPLE if p.hand and fitment.truck.depot in p.depots]
        person = here[int(random.random() < 0.45)]
        flaw = self._flaw(fitment, day, reason, random)
        outcome = self._record(fitment, day, reason, complaint, person, flaw, random)
        self._plan_next(fitment, day, flaw, outcome, random)
        if complaint is not None:
            self._answer(self.history.complaints[complaint], day, outcome)

    def _flaw(self, fitment: Fitment, day: int, reason: str, random: np.random.Generator) -> Flaw | None:
        drawn = random.random() < PLANTED.flaw_share
        if reason == "complaint" or self._waits(fitment, day):
            return None
        pneumatic = fitment.truck.model != "BE1"
        made = self.flaws_made
        if day > TOO_HIGH_FROM and pneumatic and fitment.truck.depot == "SALT" and Flaw.ABOVE_MAXIMUM not in made:
            flaw = Flaw.ABOVE_MAXIMUM
        elif day > LAPSED_FROM and fitment.truck.depot == "BRAE" and made.count(Flaw.OUT_OF_CALIBRATION) < 2:
            flaw = Flaw.OUT_OF_CALIBRATION
        elif drawn:
            flaw = FLAWS[len(made) % len(FLAWS)]
        else:
            return None
        made.append(flaw)
        return flaw

    def _record(
        self, fitment: Fitment, day: int, reason: str, complaint: int | None, person: Person, flaw: Flaw | None,
        random: np.random.Generator,
    ) -> Outcome:  # fmt: skip
        nth = self.busy[fitment.truck.depot, day] = self.busy.get((fitment.truck.depot, day), 0) + 1
        minute = 7 * 60 + 80 * nth + int(random.integers(0, 25))
        electric = fitment.truck.model == "BE1"
        kit = choose_kit(person, fitment.truck.depot, electric=electric, day=day, random=random, flaw=flaw)
        truth = self.true_mm(fitment, day + minute / 1440.0)
        as_found = self._bench(fitment, day, truth, kit, person, random).stroke(flaw)
        outcome = Outcome(Eye.CLOSE, left_mm=truth)
        if flaw is None:
            outcome = self._decide(fitment, day, reason, truth, kit, person, as_found, random)
        if outcome.half_turns:
            odometer = fitment.truck.odometer_km(day + minute / 1440.0)
            self._set(fitment, Setting(outcome.left_mm, odometer, day))
        left_outside = outcome.eye is Eye.OUTSIDE and not outcome.half_turns
        self.history.checks.append(
            MadeCheck(
                key=uuid5(KEYS, f"{self.seed} {fitment.serial} {day} {nth}"),
                serial=fitment.serial,
                model=self.fleet.units[fitment.serial].model,
                truck=fitment.truck,
                position=fitment.position,
                person=person,
                day=day,
                minute=minute,
                reason=reason,
                complaint=complaint,
                kit=kit,
                as_found=as_found,
                half_turns=outcome.half_turns,
                as_left=outcome.as_left,
                flaw=flaw,
                true_mm=truth,
                true_left_mm=outcome.left_mm,
                note=words.NO_TIME if left_outside else "",
            )
        )
        return outcome

    def _bench(
        self, fitment: Fitment, day: int, truth: float, kit: Kit, person: Person, random: np.random.Generator
    ) -> Bench:
        unit, sheet = self.fleet.units[fitment.serial], self._sheet(fitment, day)
        travel = truth + float(random.normal(0.0, NOISE_MM))
        actuator = Actuator(unit.model.mechanism, sheet.setting, travel, friction=unit.friction, stick=unit.stick)
        told = told_errors(kit.stimulus, self.seed, day)
        hand = person.hand or Hand()
        return Bench(sheet, actuator, kit.stimulus, told, kit.dial, hand, day, random, unit.leak_kpa_per_min)

    def _decide(
        self, fitment: Fitment, day: int, reason: str, truth: float, kit: Kit, person: Person,
        as_found: list[TypedReading], random: np.random.Generator,
    ) -> Outcome:  # fmt: skip
        """Leave alone, look again, or turn the rod and make the whole stroke again."""
        sheet, seen = self._sheet(fitment, day), read_by_eye(as_found, kit.dial)
        eye = look(seen, sheet, kit)
        busy = eye is Eye.OUTSIDE and random.random() < 0.25
        if self._waits(fitment, day) or (reason != "repeat" and (busy or eye is Eye.CLOSE)):
            return Outcome(eye, left_mm=truth)
        turns = half_turns_to_make(seen, sheet, person, eye)
        if not turns:
            return Outcome(eye, left_mm=truth)
        gain = self.fleet.units[fitment.serial].gain
        left = truth + turns * sheet.thread_pitch_mm / 2.0 * gain + float(random.normal(0.0, 0.015))
        as_left = self._bench(fitment, day, left, kit, person, random).stroke()
        return Outcome(eye, turns, as_left, left)

    def _plan_next(
        self, fitment: Fitment, day: int, flaw: Flaw | None, outcome: Outcome, random: np.random.Generator
    ) -> None:
        if flaw is Flaw.ABOVE_MAXIMUM or self._waits(fitment, day):
            return  # waits for an inspection, or for a place in the bay
        if flaw:
            self._plan(fitment, day + int(random.integers(3, 7)), "repeat")
        elif outcome.half_turns:
            self._plan(fitment, day + int(random.integers(38, 55)), "after_adjustment")
        elif outcome.eye is not Eye.INSIDE:
            self._plan(fitment, day + int(random.integers(7, 13)), "repeat")
        else:
            self._plan(fitment, day + int(random.integers(68, 96)), "scheduled")

    def _answer(self, complaint: Complaint, day: int, outcome: Outcome) -> None:
        complaint.waiting -= 1
        if outcome.half_turns:
            complaint.finding = words.ADJUSTED
        elif outcome.eye is Eye.CLOSE:
            complaint.finding = complaint.finding or words.UNCERTAIN
        if complaint.waiting == 0:
            complaint.finding = complaint.finding or words.INSIDE
            complaint.closed_day = day + 1 if day < LAST_DAY else day


def simulate(seed: int = SEED) -> History:
    """Run the two years: the same seed gives the same history."""
    return Simulation(seed).run()
