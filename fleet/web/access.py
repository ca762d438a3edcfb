"""Who may open a page: signed in, with a role somewhere; which rows, the selectors decide."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from urllib.parse import urlsplit

from django.contrib.auth.mixins import LoginRequiredMixin
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.utils.http import url_has_allowed_host_and_scheme
from django_htmx.http import HttpResponseClientRedirect
from django_htmx.middleware import HtmxDetails
from rest_framework.permissions import SAFE_METHODS, BasePermission
from rest_framework.request import Request
from rest_framework.views import APIView

from fleet.models import Membership, User
from fleet.problems import FleetError
from fleet.selectors.scope import holds, require
from fleet.web.tokens import require_scope

VIEWER, TECHNICIAN, MANAGER = Membership.Role.VIEWER, Membership.Role.TECHNICIAN, Membership.Role.MANAGER


class PersonRequest(HttpRequest):
    """A request as it reaches a page behind ``RoleView``: of somebody who signed in, with what htmx says of itself."""

    user: User
    htmx: HtmxDetails


def page_of(request: HttpRequest) -> str:
    """Where to go back to: the page that is read, or the page whose form was sent."""
    here = request.get_full_path()
    sent_from = request.headers.get("Referer", "")
    if request.method in SAFE_METHODS or not url_has_allowed_host_and_scheme(sent_from, {request.get_host()}):
        return here
    address = urlsplit(sent_from)
    return f"{address.path}?{address.query}" if address.query else address.path


def to_sign_in(request: HttpRequest) -> HttpResponse:
    """Send a page to the sign-in and back; of a fragment the whole page, not the fragment."""
    answer = redirect_to_login(page_of(request))
    return HttpResponseClientRedirect(answer.url) if getattr(request, "htmx", False) else answer


def signed_in(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Open a page that is a function to people who signed in."""

    @wraps(view)
    def opened(request: Any, *args: Any, **kwargs: Any) -> HttpResponse:
        return view(request, *args, **kwargs) if request.user.is_authenticated else to_sign_in(request)

    return opened


class SignedInView(LoginRequiredMixin):
    """A page for people who signed in."""

    request: HttpRequest

    def handle_no_permission(self) -> Any:
        """Ask who it is; what a role does not cover is refused before."""
        return to_sign_in(self.request)


class RoleView(SignedInView):
    """A page for whoever holds `role` at some depot, and `role_to_write` for anything but reading.

    The depot of the row itself is checked where the row is read or written: `visible_to(..., role=...)`.
    """

    role: str = VIEWER
    role_to_write: str = TECHNICIAN

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Refuse with the sentence of `require` before the view does anything."""
        if request.user.is_authenticated:
            role = self.role if request.method in SAFE_METHODS else self.role_to_write
            if role:  # else the view asks for itself
                require(request.user, role)
        return super().dispatch(request, *args, **kwargs)


class ViewerView(RoleView):
    """A page that anybody of a depot may read, and technicians may write."""


class TechnicianView(RoleView):
    """A page for the work in the bay."""

    role = TECHNICIAN


class ManagerView(RoleView):
    """A page for those who run a depot."""

    role = MANAGER
    role_to_write = MANAGER


class OperatorView(SignedInView):
    """A page for those who run the installation: superusers, whatever the depot."""

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Refuse everybody else with a sentence."""
        if request.user.is_authenticated and not request.user.is_superuser:
            raise FleetError("not_allowed", "", "This page is for those who run the installation.", status=403)
        return super().dispatch(request, *args, **kwargs)


class RolePermission(BasePermission):
    """The same for the interface for programs; a view may set `role_to_write`."""

    def has_permission(self, request: Request, view: APIView) -> bool:
        """Return whether the person holds the role somewhere; a token must also have the scope."""
        require_scope(request, view)
        role = VIEWER if request.method in SAFE_METHODS else getattr(view, "role_to_write", TECHNICIAN)
        return holds(request.user, role)
