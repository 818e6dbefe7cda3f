"""`treadle serve`: starts the shop's server; Django loads only here."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from treadle.cli.show import say_plainly

if TYPE_CHECKING:
    from treadle.web.server.start import Started

PORT = 8337
CANNOT_SERVE, INTERRUPTED = 2, 130


def serve(
    *,
    data: Annotated[
        Path | None,
        typer.Option(envvar="TREADLE_DATA", help="The shop's folder. Left out: treadle, where this system keeps data."),
    ] = None,
    host: Annotated[
        str, typer.Option(help="Address to listen at; 0.0.0.0 lets other machines of the network in.")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port to listen at.")] = PORT,
    language: Annotated[
        Literal["en", "es"],
        typer.Option("--language", "-l", envvar="TREADLE_LANGUAGE", help="Language of the sentences."),
    ] = "en",
) -> None:
    """Serve the shop's pages until stopped; a new shop starts empty and prints its set-up address.

    Exit code 0: stopped. 2: it cannot start; the message says what, where and what to do. 3: Treadle itself failed.
    """
    from treadle.web.data_folder import here
    from treadle.web.server.refusal import CannotServe
    from treadle.web.server.start import serve as serve_shop

    try:
        serve_shop(data=data or here(), host=host, port=port, announce=lambda started: _announce(started, language))
    except CannotServe as refused:
        sys.stderr.write(refused.said(language) + "\n")
        raise typer.Exit(CANNOT_SERVE) from refused
    except KeyboardInterrupt:
        raise typer.Exit(INTERRUPTED) from None


def _announce(started: Started, language: str) -> None:
    """Print where it is, and the way into an empty shop."""
    say_plainly("serve.running", language, address=started.address)
    say_plainly("serve.folder", language, folder=str(started.folder))
    if started.in_clear:
        say_plainly("serve.in_clear", language)
    if started.set_up is not None:
        say_plainly("serve.set_up", language, address=started.set_up)
    say_plainly("serve.stop", language)
    sys.stdout.flush()
