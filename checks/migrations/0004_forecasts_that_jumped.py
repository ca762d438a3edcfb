"""The few forecasts that jumped are found without reading the others."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('checks', '0003_setting_up_to_the_maximum'),
    ]

    operations = [
        migrations.AddIndex(
            model_name='forecast',
            index=models.Index(condition=models.Q(('jumped', True)), fields=['turbocharger'], name='forecasts_that_jumped'),
        ),
    ]
