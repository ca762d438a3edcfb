"""Builds the fleet: first fitments, then what was swapped, moved, sent in a bad batch, or forgotten."""

from dataclasses import replace

from fleet.management.demo.cast import DEPOTS, FIRST_DAY, FOUND_LATELY, PLANTED, DepotSheet
from fleet.management.demo.fleet import Fitment, Fleet, Truck, Unit, model_of, sheet_of, specification_on
from fleet.management.demo.streams import stream
from fleet.management.demo.thirsts import STOOD_OUTSIDE, StoodOutside


class Builder:
    """Builds the fleet: first fitments, then what was swapped, moved, sent in a bad batch, or forgotten."""

    def __init__(self, seed: int) -> None:
        self.seed = seed
        self.fleet = Fleet()
        self.serials: dict[str, int] = {}

    def build(self) -> Fleet:
        for depot in DEPOTS:
            for index in range(depot.trucks):
                self._add_truck(depot, index)
        self._send_mis_set_batch()
        self._replace_worn_units()
        self._move_one_unit()
        self._fit_new_units_lately()
        self._forget_some()
        self._spoil_some()
        self._leave_some_waiting()
        self._let_some_stand_outside()
        return self.fleet

    def _add_truck(self, depot: DepotSheet, index: int) -> None:
        number = str(depot.first_unit + index)
        random = stream(self.seed, "truck", number)
        model = ("TP4", "TP4", "OP6", "OP6", "BE1")[index % 5]
        twin = index % 5 == 3
        young = index % 7 == 6
        truck = Truck(
            number=number,
            depot=depot.code,
            in_service_day=int(random.integers(-640, -240) if young else random.integers(-2600, -780)),
            km_per_day=round(float(random.uniform(190.0, 430.0)), 1),
            km_per_hour=round(float(random.uniform(42.0, 58.0)), 1),
            positions=("front", "rear") if twin else ("single",),
            model=model,
            engine=f"{'SW' if twin else 'ST'}-{7000 + 13 * int(number)}",
        )
        self.fleet.trucks.append(truck)
        for position in truck.positions:
            first = max(truck.in_service_day, int(random.integers(-1350, -760)))
            new = first == truck.in_service_day or random.random() < 0.6
            serial = self._make_unit(model, "new" if new else "reconditioned", first)
            self.fleet.fitments.append(Fitment(serial, truck, position, first))

    def _make_unit(self, code: str, origin: str, fitted_day: int, **truth: object) -> str:
        count = self.serials[code] = self.serials.get(code, 0) + 1
        serial = str(truth.pop("serial", f"{code}-{100 + 7 * count:04d}{'R' if origin == 'reconditioned' else ''}"))
        model, random = model_of(code), stream(self.seed, "unit", serial)
        nominal = sheet_of(specification_on(model, fitted_day)).nominal_mm
        spread = float(truth.pop("spread_mm", model.plant_spread_mm * (1.0 if origin == "new" else 1.3)))  # type: ignore[arg-type]
        offset = float(truth.pop("offset_mm", 0.0))  # type: ignore[arg-type]
        values = {
            "plant_mm": round(nominal + offset + float(random.normal(0.0, spread)), 4),
            "drift_mm": round(float(random.normal(model.drift_mm, model.drift_spread_mm)), 4),
            "friction": round(model.mechanism.friction * float(random.uniform(0.75, 1.35)), 3),
            "gain": round(float(random.normal(1.0, 0.03)), 4),
            "leak_kpa_per_min": round(model.leak_kpa_per_min * float(random.uniform(0.4, 1.8)), 3),
        } | truth
        self.fleet.units[serial] = Unit(serial, model, origin, fitted_day - 12, **values)  # type: ignore[arg-type]
        return serial

    def _swap(self, old: Fitment, day: int, reason: str, serial: str, *, scrapped: bool = True) -> Fitment:
        old.to_day, old.removal_reason, old.scrapped = day, reason, scrapped
        new = Fitment(serial, old.truck, old.position, day)
        self.fleet.fitments.append(new)
        return new

    def _plain(self, code: str, *depots: str) -> list[Fitment]:
        """Open fitments of a model on trucks that were there before the two years, in order."""
        return [
            f
            for f in self.fleet.fitments
            if f.truck.model == code and f.truck.depot in depots and f.from_day < -740 and f.to_day is None
        ]

    def _send_mis_set_batch(self) -> None:
        serials = []
        for index, old in enumerate(self._plain("OP6", "SALT", "QUARRY")[: 2 * PLANTED.batch_size : 2]):
            day = -441 + 12 * index
            serial = self._make_unit(
                "OP6",
                "reconditioned",
                day,
                serial=f"OP6-{4411 + index}R",
                offset_mm=PLANTED.batch_offset_mm,
                spread_mm=PLANTED.batch_spread_mm,
            )
            self._swap(old, day, "Play in the shaft, exchanged for a reconditioned unit.", serial)
            serials.append(serial)
        self.fleet.planted["mis_set_batch"] = serials

    def _replace_worn_units(self) -> None:
        for code, depot, place, day, reason in (
            ("TP4", "SALT", 1, -512, "Oil at the compressor seal."),
            ("TP4", "BRAE", 0, -298, "Turbine housing cracked."),
            ("OP6", "BRAE", 2, -231, "Noise, vanes rubbed."),
            ("BE1", "QUARRY", 0, -187, "Actuator motor failed."),
        ):
            old = self._plain(code, depot)[place]
            self._swap(old, day, reason, self._make_unit(code, "reconditioned", day))

    def _move_one_unit(self) -> None:
        giver, taker = self._plain("TP4", "SALT")[2:4]
        moved = giver.serial
        self._swap(giver, -263, "Lent to another truck.", self._make_unit("TP4", "new", -263), scrapped=False)
        self._swap(taker, -249, "Shaft seized.", moved)
        self.fleet.planted["moved_unit"] = moved

    def _fit_new_units_lately(self) -> None:
        fresh = []
        for code, depot, place, day in (("TP4", "QUARRY", 1, -33), ("OP6", "BRAE", 0, -19), ("BE1", "SALT", 1, -9)):
            old = self._plain(code, depot)[place]
            new = self._swap(old, day, "End of its planned life.", self._make_unit(code, "new", day))
            new.checked_until = day
            fresh.append(new.serial)
        self.fleet.planted["never_checked"] = fresh

    def _forget_some(self) -> None:
        neglected = [self._plain("TP4", "BRAE")[-1], self._plain("BE1", "SALT")[-1]]
        for fitment in neglected:
            fitment.checked_until = fitment.from_day
        self.fleet.planted["never_checked"] += [f.serial for f in neglected]  # type: ignore[operator]
        overdue = [self._plain("OP6", "BRAE")[-1], self._plain("TP4", "QUARRY")[-1], self._plain("TP4", "SALT")[-1]]
        for fitment, day in zip(overdue, (-171, -158, -149), strict=True):
            fitment.checked_until = day
        self.fleet.planted["overdue"] = [f.serial for f in overdue]

    def _spoil_some(self) -> None:
        self._spoil("jump", self._plain("OP6", "SALT")[0], jump=(PLANTED.jump_day, PLANTED.jump_mm))
        self._spoil("sticking", self._plain("TP4", "QUARRY")[0], stick=PLANTED.stick_kpa)
        self._spoil("leaking", self._plain("OP6", "SALT")[1], leak_kpa_per_min=PLANTED.leak_kpa_per_min)

    def _spoil(self, name: str, fitment: Fitment, **truth: object) -> None:
        self.fleet.units[fitment.serial] = replace(self.fleet.units[fitment.serial], **truth)  # type: ignore[arg-type]
        self.fleet.planted[name] = fitment.serial

    def _leave_some_waiting(self) -> None:
        outside: list[str] = []
        close: list[str] = []
        for found in FOUND_LATELY:
            fitment = self._plain(found.code, found.depot)[found.place]
            fitment.found, fitment.left_from = found, found.day
            (outside if found.beyond_mm > 0.05 else close).append(fitment.serial)
        self.fleet.planted |= {"left_outside": outside, "left_undecided": close}

    def _let_some_stand_outside(self) -> None:
        self.fleet.planted |= {"stood_outside": [], "silent": []}
        for stood in STOOD_OUTSIDE:
            truck = next(truck for truck in self.fleet.trucks if truck.number == stood.truck)
            fitment = min((f for f in self.fleet.fitments if f.truck is truck), key=lambda f: f.from_day)
            if stood.fitted_day is not None:
                day, reason = stood.fitted_day, "Oil at the turbine seal, exchanged for a reconditioned unit."
                fitment = self._swap(fitment, day, reason, self._make_unit(truck.model, "reconditioned", day))
            self._set_outside(fitment, stood)
            fitment.first_look = stood.seen_day
            fitment.left_from = stood.seen_day if stood.left else None
            self.fleet.planted["silent" if stood.left else "stood_outside"].append(fitment.serial)  # type: ignore[union-attr]

    def _set_outside(self, fitment: Fitment, stood: StoodOutside) -> None:
        """Set a unit so that it stands beyond its limit when the two years begin, or when it is fitted."""
        unit, day = self.fleet.units[fitment.serial], max(fitment.from_day, FIRST_DAY)
        sheet = sheet_of(specification_on(unit.model, 0))
        travel = sheet.upper_mm + stood.beyond_mm if stood.side > 0 else sheet.lower_mm - stood.beyond_mm
        run = fitment.truck.odometer_km(day) - fitment.truck.odometer_km(fitment.from_day)
        plant = round(travel - unit.drift_mm * run / 100_000.0, 4)
        self.fleet.units[fitment.serial] = replace(unit, plant_mm=plant)


def build_fleet(seed: int) -> Fleet:
    """Everything that existed, and what was fitted where from when to when."""
    return Builder(seed).build()
