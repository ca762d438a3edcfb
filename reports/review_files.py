"""A file of a review as people and programs take it away."""

from django.http import HttpResponse

from fleet.models import User
from reports.models import ReviewFile
from reports.selectors.reviews import review_file

TYPES = {
    ReviewFile.Kind.PDF: "application/pdf",
    ReviewFile.Kind.XLSX: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ReviewFile.Kind.CSV: "application/zip",
}


def file_answer(user: User, pk: int, kind: str) -> HttpResponse:
    """The file under a name that says what it is. Raises Http404 where there is none for this person."""
    review, content = review_file(user, pk, kind)
    scope = review.depot.code.lower() if review.depot else "fleet"
    answer = HttpResponse(content, content_type=TYPES[ReviewFile.Kind(kind)])
    name = f"review-{review.month:%Y-%m}-{scope}-{review.pk}.{kind}"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    answer["Cache-Control"] = "private, no-store"
    return answer
