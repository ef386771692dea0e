"""The page that the laptop serves, to itself and to the phone beside it.

To add a page: one file, one template, its texts.

1. ``web/pages/NAME.py`` with ``ROUTES``, a list of Starlette routes. It is found by being there. Endpoints
   are plain functions (they run in a thread) that take a request and return a response::

       from starlette.requests import Request
       from starlette.responses import Response
       from starlette.routing import Route

       from backprobe.web.frame import MenuItem, back_with, done, form_of, kept_of, page, work_of
       from backprobe.web.texts import N_

       MENU = [MenuItem("tools", N_("Losses"), "/budget", 30)]  # place, name, address, order

       def show(request: Request) -> Response:
           return page(request, "budget.html", {"kept": kept_of(request)})

       def take(request: Request) -> Response:
           form = form_of(request)
           try:
               loss = ...  # the public functions of `backprobe` do all work; no physics here
           except BackprobeError as error:
               return back_with(request, "/budget", {"loss": error})  # field to what is wrong with it
           return done("/budget?loss=0.4")

       ROUTES = [Route("/budget", show), Route("/budget", take, methods=["POST"])]

   Pages of a job: ``Route("/job/{name}/plan", show)``, ``work = work_of(request)``; it has ``.job``
   (`bp.Job`), ``.engine``, ``.sheet``, ``.answer()`` and ``.checks()`` (both kept until the log grows) and
   ``.lock``, which is held around whatever else uses the engine. Their menu place is ``"job"``, with
   ``/job/{name}/plan`` as address. A job that does not exist, and every other `BackprobeError` that leaves
   an endpoint, becomes a page with one clear message.
2. ``web/templates/NAME.html``::

       {% extends "base.html" %}
       {% import "forms.html" as f with context %}
       {% block title %}{{ _("Losses") }}{% endblock %}
       {% block main %}
       <form method="post" action="/budget">
         {{ f.token() }}
         {{ f.text("loss", _("Loss that is allowed"), kept, unit="V", hint=_("such as 0.5")) }}
         {{ f.number("value", _("Reads"), kept, units=["V", "mV", "ohm"]) }}
         {{ f.choice("function", _("Function"), names, kept) }}
         <button>{{ _("Work it out") }}</button>
       </form>
       {% endblock %}

   Pages of a job extend ``job.html`` instead and give it ``work``. `f.token()` belongs into every POST
   form; an upload says ``enctype="multipart/form-data"``. After ``back_with`` the fields show what was
   typed and what is wrong with it; without it, pass a ``Kept`` of your own, ``Kept({"loss": "0.5"})``, for
   values to begin with.
3. Texts go through ``_("...")`` and ``ngettext("one", "%(num)s many", n)`` in templates; a per cent sign in
   them is ``%%``, a value is ``_("job %(name)s", name=...)``. In Python:
   ``texts_of(request).gettext("...")``. What the engine says (suspects, repairs, cautions, checks) goes
   through ``{{ text | said }}``, which translates what ``locale/de/engine*.po`` know, with gaps in
   braces (``engine_words.py`` says how a gap's name tells what may fill it), and leaves the rest in English;
   ``reading_view.py`` says what was read, ``drawing_words.py`` what stands in a drawing.
   German stands in ``locale/de/NAME.po``, one file of your own; all
   are read together. A test fails for a text without one.

What the frame gives: ``{{ 4700 | value("ohm") }}`` prints a number with its unit in the reader's language,
``{{ 0.62 | percent }}`` a chance, ``{{ 3.2 | minutes }}``; ``{{ asset("circuit.js") }}`` is the address of
a file of ``web/static`` (load a script with ``{% block scripts %}<script src="{{ asset('circuit.js') }}"
defer></script>{% endblock %}``). SVG from Python is put in as ``markupsafe.Markup``, its texts escaped.

The content policy forbids inline script, inline style and ``style=`` attributes, in SVG too: use classes
(see ``static/page.css``: ``.panel``, ``.caution``, ``.strip``, ``.facts``, ``.quiet``, ``.wide``) and plain
SVG attributes. SVG that is coloured by class (``.ink``, ``.faint``, ``.mark``, ``.mark-1`` ... ) follows
light and dark. Wide things (tables, drawings) go into ``<div class="scroll" tabindex="0" role="region"
aria-label="...">``; the page itself never scrolls sideways. A form that works without JavaScript is all
there is; ``page.js`` only swaps ``<main>`` in place.

Tests drive the application in process: ``tests/web/helpers.py`` has ``visitor(store)``, a client on this
machine, and ``post(client, address, fields)``, which sends a form with its token.
"""
