"""Photographs of a check: added on its page or by a tablet, and shown to whoever may see the check."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import FileResponse, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.utils.datastructures import MultiValueDict
from django.views import View
from django.views.decorators.http import require_POST

from checks.models import Check, CheckPhoto
from checks.selectors.photo import check_to_illustrate, photo_of
from checks.services.photo import add_photo
from fleet.models import User
from fleet.problems import FleetError
from fleet.web.access import PersonRequest, TechnicianView, ViewerView
from fleet.web.programs import for_script


class PhotoView(ViewerView, View):
    """One photograph."""

    http_method_names = ["get", "head"]

    def get(self, request: PersonRequest, key: UUID) -> FileResponse:
        """Answer with the picture; it never changes, and nobody but this browser may keep it."""
        photo = photo_of(request.user, key)
        headers = {"Cache-Control": "private, max-age=31536000, immutable"}
        return FileResponse(photo.image.open("rb"), content_type="image/jpeg", headers=headers)


class PhotoAddView(TechnicianView, View):
    """The form on the page of a check."""

    http_method_names = ["post"]

    def post(self, request: PersonRequest, pk: int) -> HttpResponse:
        """Add it and go back to the check, also with the reason why not."""
        check = check_to_illustrate(request.user, pk=pk)
        try:
            added(request.user, check, request.POST, request.FILES)
        except FleetError as refusal:
            if refusal.status in {403, 404}:
                raise
            messages.error(request, refusal.sentence)
        else:
            messages.success(request, "The photograph is added.")
        return redirect("reports:check", check.pk)


@for_script
@require_POST
def receive_photo(request: PersonRequest, key: UUID) -> JsonResponse:
    """Add a photograph that a tablet took; the same one again gives the same answer."""
    photo = added(request.user, check_to_illustrate(request.user, key=key), request.POST, request.FILES)
    return JsonResponse({"key": str(photo.key), "sha256": photo.sha256, "size": photo.size}, status=201)


def added(user: User, check: Check, typed: Any, files: MultiValueDict[str, Any]) -> CheckPhoto:
    """The photograph of a form, kept. Raises FleetError."""
    try:
        key = UUID(typed.get("key", ""))
    except ValueError as error:
        raise FleetError("no_key", "key", "The photograph lost its key on the way. Reload the page.") from error
    file = files.get("image")
    if file is None:
        raise FleetError("photo_empty", "image", "No photograph was chosen, or the file is empty. Choose it again.")
    return add_photo(user=user, check=check, key=key, what=typed.get("what", ""), file=file, size=file.size or 0)
