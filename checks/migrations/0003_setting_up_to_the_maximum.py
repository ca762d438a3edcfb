"""An electric actuator may be set at its highest command; of pressures the service asks that it lies below."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("checks", "0002_initial"), ("fleet", "0001_initial")]

    operations = [
        migrations.RemoveConstraint(model_name="specificationrevision", name="setting_below_maximum"),
        migrations.AddConstraint(
            model_name="specificationrevision",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("setting__gt", 0), ("setting__lte", models.F("stimulus_max")), ("stimulus_max__lte", 2000)
                ),
                name="setting_below_maximum",
                violation_error_code="setting_below_maximum",
                violation_error_message=(
                    "The setting must be above zero and not above the highest permitted (itself at most 2,000 kPa)."
                ),
            ),
        ),
    ]
