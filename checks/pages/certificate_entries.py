"""Forms of certificates: entered with their points, and taken back."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404

from checks.models import Certificate
from checks.pages.certificate_form import CertificateForm
from checks.pages.fields import EntryForm
from checks.pages.instrument_entries import OneInstrument
from checks.pages.instrument_forms import ReasonForm
from checks.services import certificate as certificates
from checks.services.entry import Entry


class CertificateAdd(OneInstrument):
    """Enter a calibration certificate with its points."""

    template_name = "checks/certificate_add.html"
    done = "The certificate is recorded."

    def post(self, request: HttpRequest, **address: Any) -> HttpResponse:
        """Add rows to the table when asked to, else keep the certificate or say why not."""
        if "more" in request.POST:
            self.load()
            return self.page(self.make_form(request.POST))
        return super().post(request, **address)

    def make_form(self, data: Any = None) -> EntryForm:
        return CertificateForm(data, instrument=self.instrument, user=self.request.user)

    def keep(self, entry: Entry) -> Any:
        return certificates.add_certificate(author=self.request.user, instrument=self.instrument, entry=entry)

    def words(self) -> dict[str, Any]:
        lead = "As found is how it arrived at the laboratory, as left how it came back. Rows may stay empty."
        return self.page_words(f"Certificate of {self.instrument}", lead, "Record the certificate")


class CertificateSupersede(OneInstrument):
    """Mark a certificate as entered in error."""

    certificate: Certificate
    done = "The certificate counts no more; it stays readable."

    def load(self) -> None:
        super().load()
        rows = self.instrument.certificates.select_related("instrument__depot")
        self.certificate = get_object_or_404(rows, pk=self.kwargs["certificate"])

    def make_form(self, data: Any = None) -> EntryForm:
        return ReasonForm(data)

    def keep(self, entry: Entry) -> Any:
        return certificates.supersede_certificate(author=self.request.user, certificate=self.certificate, entry=entry)

    def words(self) -> dict[str, Any]:
        lead = (
            "For a certificate entered in error: it stays in the record and counts no more. Then enter the right one."
        )
        return self.page_words(f"Take certificate {self.certificate.number} back", lead, "It was entered in error")
