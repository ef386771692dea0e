"""What stands in a form and was not sent yet: it is thought of meanwhile, and nothing is stored."""

from __future__ import annotations

from contextlib import suppress

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.errors import BackprobeError
from backprobe.readings.lines import parse_reading
from backprobe.web.ahead import Ahead, Typed
from backprobe.web.frame import form_of, sent, texts_of, work_of
from backprobe.web.pages.next_check import answer_of
from backprobe.web.pages.reading import entry_of


def typed(request: Request) -> Response:
    """Think of a reading before it is sent; what is no reading yet is passed over."""
    ahead: Ahead | None = request.app.state.ahead
    if ahead is None:
        return Response(status_code=204)
    form, spoken = form_of(request), texts_of(request)
    sent(request, form)
    work = work_of(request)
    errors: dict[str, BackprobeError | str] = {}
    with suppress(BackprobeError):
        if form.text("where"):
            line, context = answer_of(form, work, spoken)
        else:
            _, line, context = entry_of(form, work, spoken, errors)
        if not errors and work.job.record.is_open:
            reading = parse_reading(line, work.sheet, context)
            ahead.think_of_typed(Typed(work.name, form.told(), reading))
    return Response(status_code=204)


ROUTES = [Route("/job/{name}/typed", typed, methods=["POST"])]
