"""The instruments of the depots, with their true errors and the days on which they were calibrated."""

from fleet.management.demo.instruments import Electrical, Instrument, Knock

GAUGE_KNOCK = Knock(day=-478, found_day=-332, share=0.085)
YEARLY = (-771, -406, -41)
LABORATORY = "Northlight Calibration (invented)"


def _dial(label: str, depot: str, unit: str, certified: tuple[int, ...], gain: float) -> Instrument:
    imperial = unit == "thou"
    return Instrument(
        label=label, kind="dial", depot=depot, unit=unit, certified=certified, gain=gain, bow=0.0004, read_to=0.5,
        description="Plunger dial, 0.4 in" if imperial else "Plunger dial, 10 mm", valid_days=370,
        division=1.0 if imperial else 0.01, high=400.0 if imperial else 10.0,
        permissible=0.8 if imperial else 0.02, expanded=0.2 if imperial else 0.005,
    )  # fmt: skip


def _transducer(label: str, depot: str, electrical: Electrical, certified: tuple[int, ...], gain: float) -> Instrument:
    return Instrument(
        label=label, kind="transducer", depot=depot, description="Pressure transducer, 400 kPa", unit="kPa",
        division=0.1, high=400.0, permissible=2.0, expanded=0.5, gain=gain, bow=0.0008, creep=0.001,
        electrical=electrical, certified=certified, valid_days=370,
    )  # fmt: skip


def _meter(label: str, depot: str, unit: str, digit: float, high: float, certified: tuple[int, ...]) -> Instrument:
    return Instrument(
        label=label, kind="multimeter", depot=depot, description="Bench multimeter", unit=unit, division=digit,
        high=high, permissible=2 * digit, expanded=digit, share=0.0005, electrical=Electrical(unit, digit),
        certified=certified, valid_days=370,
    )  # fmt: skip


def _gauge(
    label: str, depot: str, unit: str, certified: tuple[int, ...], gain: float, knock: Knock | None = None
) -> Instrument:
    imperial = unit == "psi"
    return Instrument(
        label=label, kind="gauge", depot=depot, unit=unit, certified=certified, gain=gain, bow=0.002, creep=0.006,
        description="Bourdon gauge, 60 psi" if imperial else "Bourdon gauge, 400 kPa", read_to=0.5, valid_days=370,
        division=0.5 if imperial else 2.0, high=60.0 if imperial else 400.0,
        permissible=0.96 if imperial else 6.4, expanded=0.2 if imperial else 1.6, knock=knock,
    )  # fmt: skip


def _command(label: str, depot: str, certified: tuple[int, ...]) -> Instrument:
    return Instrument(
        label=label, kind="command", depot=depot, description="Service tool for electric actuators", unit="%",
        division=0.1, high=100.0, permissible=0.3, expanded=0.1, gain=0.0006, certified=certified, valid_days=370,
    )  # fmt: skip


def _regulator(label: str, depot: str) -> Instrument:
    return Instrument(
        label=label, kind="regulator", depot=depot, description="Fine regulator with bleed", unit="kPa",
        division=2.0, high=400.0, permissible=0.0, expanded=0.0,
    )  # fmt: skip


VOLT = Electrical("V", 0.001, 0.01, 0.5)
MILLIVOLT = Electrical("mV", 0.01, 0.25, 2.0)
MILLIAMPERE = Electrical("mA", 0.01, 0.04, 4.0)
# Dials of one depot fall due a month apart; BE-D2 lapsed and was not sent away.
INSTRUMENTS = (
    _dial("SM-D1", "SALT", "thou", YEARLY, 0.0006),
    _dial("SM-D2", "SALT", "mm", (-741, -376, -12), -0.0008),
    _transducer("SM-P1", "SALT", VOLT, YEARLY, 0.0021),
    _meter("SM-M1", "SALT", "V", 0.001, 6.0, YEARLY),
    _gauge("SM-G1", "SALT", "psi", (-755, -390, -26), 0.009),
    _command("SM-C1", "SALT", YEARLY),
    _regulator("SM-R1", "SALT"),
    _dial("BE-D1", "BRAE", "mm", (-766, -401, -36), 0.0007),
    _dial("BE-D2", "BRAE", "mm", (-900, -535), 0.0004),
    _transducer("BE-P1", "BRAE", MILLIVOLT, (-766, -401, -36), -0.0016),
    _meter("BE-M1", "BRAE", "mV", 0.01, 200.0, (-766, -401, -36)),
    _gauge("BE-G1", "BRAE", "psi", (-752, -387, -23), -0.006),
    _command("BE-C1", "BRAE", (-766, -401, -36)),
    _regulator("BE-R1", "BRAE"),
    _dial("QF-D1", "QUARRY", "mm", (-776, -411, -46), -0.0005),
    _dial("QF-D2", "QUARRY", "thou", (-718, -353), 0.0009),
    _transducer("QF-P1", "QUARRY", MILLIAMPERE, (-776, -411, -46), 0.0012),
    _meter("QF-M1", "QUARRY", "mA", 0.01, 24.0, (-776, -411, -46)),
    _gauge("QF-G1", "QUARRY", "kPa", (-697, -332), 0.004, GAUGE_KNOCK),
    _command("QF-C1", "QUARRY", (-776, -411, -46)),
    _regulator("QF-R1", "QUARRY"),
)
LAPSED_DIAL = "BE-D2"
