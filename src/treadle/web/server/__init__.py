"""Starting a shop's server and keeping it whole: folder, lock, port, static files, worker; no page lives here."""
