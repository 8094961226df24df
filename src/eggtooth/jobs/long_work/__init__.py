"""Work that takes too long for a page to wait for: asked by a page, done by a worker, kept until it is stale.

Over a SQLite file the page works it out itself. Over PostgreSQL it is a job of a queue (`queue`), for which
a worker (`worker`, `hand`) is run beside the pages; answers lie on a shelf in the database (`shelf`). All of
that stands in a schema of its own, holds nothing that was noted, and may be dropped whole.
"""
