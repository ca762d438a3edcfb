"""How much use a model's settings stay inside their window for: derived from checks, made anew at will."""

from django.db import models
from django.db.models import Q

from checks.models.forecast import Basis
from fleet.models import TurbochargerModel
from fleet.models.constraints import only_one


class LifeFit(models.Model):
    """Lives until outside of one model in one basis, whole and in groups; without a model, all models compared.

    Usages are in the basis' unit, km or h. ``rows``: a life each, [turbocharger, depot, origin, setting, entry, left,
    right], right null while inside. ``groups`` and ``comparisons``: as `checks.services.life` writes them; ``ticks``:
    the usages at which groups count who is still followed; ``left_out``: reason to number. ``inputs``: digest of what
    it was derived from.
    """

    turbocharger_model = models.ForeignKey(
        TurbochargerModel, on_delete=models.CASCADE, null=True, blank=True, related_name="life_fits"
    )
    basis = models.CharField(max_length=5, choices=Basis)
    lives = models.PositiveIntegerField()
    events = models.PositiveIntegerField()
    groups = models.JSONField(default=list)
    comparisons = models.JSONField(default=list)
    rows = models.JSONField(default=list)
    ticks = models.JSONField(default=list)
    left_out = models.JSONField(default=dict)
    inputs = models.CharField(max_length=64)
    code_version = models.CharField(max_length=20)
    made_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["turbocharger_model", "basis"]
        constraints = [
            only_one(
                "one_life_fit",
                ("turbocharger_model", "basis"),
                "The lives of this model are fitted in this basis already.",
            ),
            only_one(
                "one_life_comparison",
                ("basis",),
                "The models are compared in this basis already.",
                condition=Q(turbocharger_model__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.turbocharger_model or 'all models'}, {self.get_basis_display()}: {self.lives} lives"
