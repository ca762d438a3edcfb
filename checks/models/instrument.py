"""Instruments and their calibration certificates."""

from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from fleet.models import Depot
from fleet.models.constraints import only_one, rule


class Instrument(models.Model):
    """One instrument, found by the label on it. Unused columns of a kind stay empty.

    Quantity of ``division``, ``range_*`` and ``permissible_error`` by kind: dial mm; transducer and gauge and
    regulator kPa; command tool %; multimeter in ``electrical_unit``. A transducer's ``sensitivity`` is
    ``electrical_unit`` per kPa and ``offset`` its output at zero pressure. A multimeter's permissible error is
    ``error_share`` of the reading + ``permissible_error``. ``typed``: field name to [text, unit].
    """

    class Kind(models.TextChoices):
        DIAL = "dial", "dial indicator"
        TRANSDUCER = "transducer", "pressure transducer"
        GAUGE = "gauge", "mechanical gauge"
        MULTIMETER = "multimeter", "multimeter"
        REGULATOR = "regulator", "regulator"
        COMMAND = "command", "command tool (electric actuators)"

    class Electrical(models.TextChoices):
        MILLIVOLT = "mV", "mV"
        VOLT = "V", "V"
        MILLIAMPERE = "mA", "mA"

    depot = models.ForeignKey(Depot, on_delete=models.PROTECT, related_name="instruments")
    label = models.CharField(max_length=40, unique=True)
    kind = models.CharField(max_length=12, choices=Kind)
    description = models.CharField(max_length=120, blank=True)
    division = models.FloatField("scale division or last digit", null=True, blank=True)
    read_to = models.FloatField("read to this share of a division", default=1.0)
    range_low = models.FloatField(null=True, blank=True)
    range_high = models.FloatField(null=True, blank=True)
    permissible_error = models.FloatField(null=True, blank=True)
    error_share = models.FloatField("permissible error, share of reading", default=0.0)
    electrical_unit = models.CharField(max_length=4, choices=Electrical, blank=True)
    sensitivity = models.FloatField("sensitivity, electrical unit per kPa", null=True, blank=True)
    offset = models.FloatField("output at zero pressure", default=0.0)
    typed = models.JSONField(default=dict, blank=True)
    withdrawn_on = models.DateField(null=True, blank=True)
    history = HistoricalRecords()

    class Meta:
        ordering = ["label"]
        constraints = [
            rule("instrument_label_given", ~Q(label=""), "Give the instrument the label that is on it."),
            rule(
                "instrument_scale_given",
                Q(kind="regulator")
                | Q(
                    permissible_error__isnull=False,
                    range_low__isnull=False,
                    range_high__isnull=False,
                    permissible_error__gte=0,
                    range_high__gt=F("range_low"),
                ),
                "Give the range (low below high) and the permissible error (zero or more).",
            ),
            # A transducer has no scale of its own: the multimeter's last digit is what is read.
            rule(
                "instrument_division_given",
                Q(kind__in=["regulator", "transducer"]) | Q(division__isnull=False, division__gt=0),
                "Give the scale division or last digit, above zero.",
            ),
            rule(
                "read_to_plausible",
                Q(read_to__gte=0.1) & Q(read_to__lte=1),
                "A scale is read to between a tenth of a division and one division.",
            ),
            rule(
                "transducer_has_sensitivity",
                ~Q(kind="transducer") | (Q(sensitivity__isnull=False) & ~Q(sensitivity=0) & ~Q(electrical_unit="")),
                "A transducer needs its sensitivity (not zero) and electrical unit.",
            ),
            rule(
                "multimeter_has_unit",
                ~Q(kind="multimeter") | ~Q(electrical_unit=""),
                "Say what the multimeter reads: mV, V or mA.",
            ),
        ]

    def __str__(self) -> str:
        return self.label


class Certificate(models.Model):
    """A calibration certificate of one instrument. ``superseded_reason`` marks one entered in error."""

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="certificates")
    number = models.CharField(max_length=60)
    laboratory = models.CharField(max_length=120, blank=True)
    issued_on = models.DateField()
    due_on = models.DateField()
    note = models.TextField(blank=True)
    superseded_reason = models.CharField(max_length=200, blank=True)
    history = HistoricalRecords()

    class Meta:
        ordering = ["-issued_on", "-id"]
        constraints = [
            only_one(
                "certificate_number_once",
                ("instrument", "number"),
                "This instrument already has a certificate of that number.",
            ),
            rule(
                "certificate_due_after_issue",
                Q(due_on__gt=F("issued_on")),
                "The due date must lie after the date of issue.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} of {self.instrument}"


class CertificatePoint(models.Model):
    """One calibrated point, as found on arrival or as left after adjustment.

    ``error`` = indication - reference; both and the expanded uncertainty in the instrument's quantity.
    ``typed``: field name to [text, unit].
    """

    class Moment(models.TextChoices):
        AS_FOUND = "as_found", "as found"
        AS_LEFT = "as_left", "as left"

    certificate = models.ForeignKey(Certificate, on_delete=models.CASCADE, related_name="points")
    moment = models.CharField(max_length=8, choices=Moment)
    indication = models.FloatField()
    error = models.FloatField()
    expanded_uncertainty = models.FloatField()
    coverage_factor = models.FloatField(default=2.0)
    typed = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["moment", "indication"]
        constraints = [
            only_one(
                "one_point_per_indication",
                ("certificate", "moment", "indication"),
                "This certificate already has a point at that indication.",
            ),
            rule(
                "point_uncertainty_positive",
                Q(expanded_uncertainty__gte=0) & Q(coverage_factor__gte=1) & Q(coverage_factor__lte=4),
                "The expanded uncertainty may not be negative and k lies between 1 and 4.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.indication}: {self.error}"
