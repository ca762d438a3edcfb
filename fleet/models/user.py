"""People who sign in, and the depots they belong to."""

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.utils.crypto import salted_hmac

from fleet.models.constraints import only_one
from fleet.models.depot import Depot


class User(AbstractUser):
    """A person. Superusers administer the installation and see every depot."""

    class Pressure(models.TextChoices):
        KPA = "kPa", "kPa"
        PSI = "psi", "psi"
        BAR = "bar", "bar"

    class Length(models.TextChoices):
        MM = "mm", "mm"
        INCH = "in", "in"
        THOU = "thou", "thou"

    class Distance(models.TextChoices):
        KM = "km", "km"
        MILE = "mi", "mi"

    pressure_unit = models.CharField(max_length=8, choices=Pressure, default=Pressure.KPA)
    length_unit = models.CharField(max_length=8, choices=Length, default=Length.MM)
    distance_unit = models.CharField(max_length=8, choices=Distance, default=Distance.KM)
    theme = models.CharField(max_length=5, blank=True, choices=[("light", "light"), ("dark", "dark")])
    morning_mail = models.BooleanField("a mail each morning with what is due", default=False)
    sign_in_series = models.PositiveIntegerField(
        default=0, editable=False, help_text="Raised to end every session of the person that began before."
    )
    depots: "models.ManyToManyField[Depot, Membership]" = models.ManyToManyField(
        Depot, through="fleet.Membership", related_name="people"
    )

    @property
    def display_name(self) -> str:
        return self.get_full_name() or self.get_username()

    def _get_session_auth_hash(self, secret: str | None = None) -> str:
        """What a session must hold to count: it ends with a new password and with a new series."""
        held = f"{self.password}/{self.sign_in_series}"
        return salted_hmac("fleet.models.User.session", held, secret=secret, algorithm="sha256").hexdigest()


class Membership(models.Model):
    """What a person may do at one depot."""

    class Role(models.TextChoices):
        VIEWER = "viewer", "viewer"
        TECHNICIAN = "technician", "technician"
        MANAGER = "manager", "manager"

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    depot = models.ForeignKey(Depot, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=12, choices=Role)

    class Meta:
        ordering = ["depot__name"]
        constraints = [
            only_one("one_role_per_depot", ("user", "depot"), "This person already has a role at this depot."),
        ]

    def __str__(self) -> str:
        return f"{self.user} is {self.role} at {self.depot}"


class CalendarFeed(models.Model):
    """A person's calendar of due checks, reached by a secret address. Only the secret's digest is kept."""

    user = models.OneToOneField(User, on_delete=models.CASCADE, related_name="calendar_feed")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(auto_now=True)

    def __str__(self) -> str:
        return f"Calendar of {self.user}"


class RecoveryCode(models.Model):
    """Stands in once for the code of a lost device. Only its digest is kept: it is long and random."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="recovery_codes")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(auto_now_add=True)
    used_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"A recovery code of {self.user}"
