"""Serve the pages to this machine, and to a phone beside it."""

from __future__ import annotations

import click

from backprobe.cli.inputs import json_option
from backprobe.cli.jobs import opened, store_option
from backprobe.cli.output import progress, say, say_json
from backprobe.cli.whole import Whole

PORT = 8765


@click.command("serve", epilog="Example: backprobe serve\n\nExample: backprobe serve --lan --demo")
@click.option(
    "--port",
    type=Whole(0, 65535),
    default=PORT,
    show_default=True,
    help="Where to listen; 0 takes a free one.",
)
@click.option(
    "--lan", is_flag=True, help="Also answer a phone in the same network, once it is paired by a code."
)
@click.option("--demo", is_flag=True, help="Serve the jobs of the demo, kept nowhere.")
@store_option
@json_option
def run(port: int, lan: bool, demo: bool, target: str | None, as_json: bool) -> None:
    """Serve the pages: jobs, next check, suspects, circuit and calculations, with no network.

    Without --lan nobody but this machine is answered. With it, a code is shown for a phone to
    scan; each code lets one phone in, once. Ctrl-C stops; what was stored stays stored.
    """
    from backprobe.web.serving import lan_name, listen, make_serving, pairing_text, serve

    with opened(":memory:" if demo else target) as store:
        if demo:
            from backprobe.demo.show import fill

            with progress("writing the jobs of the demo"):
                fill(store)
        # A store that cannot be read is said now, not on the first page.
        store.jobs()
        with listen(port, lan=lan) as socket:
            bound = int(socket.getsockname()[1])
            serving = make_serving(bound, lan_name() if lan else "")
            here = f"http://127.0.0.1:{bound}/"
            phone, code = pairing_text(serving)
            if as_json:
                say_json({"address": here, "phone": phone, "store": store.name})
            else:
                kept = "nowhere: this is the demo" if demo else f"in {store.name}"
                say(f"Backprobe is at {here}\nJobs are kept {kept}.")
                if phone:
                    say(f"\nPhone in the same network: scan this once, or open\n{phone}\n\n{code}")
                say("Ctrl-C stops.")
            serve(store, serving, socket)
    if not as_json:
        say("Stopped. What was stored is stored.")


COMMAND = run
