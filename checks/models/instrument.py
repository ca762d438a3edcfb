"""Instruments, found by the labels on them."""

from django.db import models
from django.db.models import F, Q
from simple_history.models import HistoricalRecords

from fleet.models import Depot
from fleet.models.constraints import rule


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
