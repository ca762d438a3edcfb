"""The fleet board."""

from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.utils.cache import patch_vary_headers
from django.views import View

from checks.components import STATE_WORDS
from fleet.selectors.scope import require
from fleet.web.access import VIEWER, PersonRequest, ViewerView
from fleet.web.query import number_in
from reports.selectors.board import SORTS, STATES, Wanted, board
from reports.sentences.board import NO_UNIT, board_sentence


class BoardView(ViewerView, View):
    """Show every unit that the viewer may see."""

    role = ""  # the depots that the board reads anyway tell who has none: one query less

    def get(self, request: PersonRequest) -> HttpResponse:
        """Answer with the page, or only its list for htmx."""
        wanted = wanted_from(request.GET)
        found = board(user=request.user, wanted=wanted)
        if not found.depots:
            require(request.user, VIEWER)
        bare = not found.total and wanted == Wanted(sort=wanted.sort)
        context = {
            "board": found,
            "may_check": bool(found.works),
            "wanted": wanted,
            "sorts": SORTS,
            "bare": bare,
            "sentence": NO_UNIT if bare else board_sentence(found, find=wanted.find),
            "shown_as": f"{' ' + STATE_WORDS[wanted.state] if wanted.state else ''}, by {SORTS[wanted.sort]}",
            "all_address": wanted.address(state=""),
            "previous": wanted.address(page=min(wanted.page, found.pages) - 1) if wanted.page > 1 else "",
            "next": wanted.address(page=wanted.page + 1) if wanted.page < found.pages else "",
        }
        part = request.htmx and not request.htmx.history_restore_request
        answer = render(request, "reports/board_list.html" if part else "reports/board.html", context)
        patch_vary_headers(answer, ["HX-Request"])
        return answer


def wanted_from(query: QueryDict) -> Wanted:
    """Read what is asked for; what cannot be read is as if not given."""
    state, sort = query.get("state", ""), query.get("sort", "due")
    return Wanted(
        depot=number_in(query.get("depot", "")),
        model=number_in(query.get("model", "")),
        state=state if state in STATES else "",
        find=query.get("find", "").replace("\x00", "").strip()[:40],
        sort=sort if sort in SORTS else "due",
        page=number_in(query.get("page", "")) or 1,
    )
