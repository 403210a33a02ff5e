"""The browsable view: a Datasette plugin, and `serve`, which starts Datasette on a workshop file.

The entry point names this package, because Datasette looks for `static/` and `templates/` beside the hooks.
"""

from matref.web.plugin import (
    asgi_wrapper,
    extra_template_vars,
    handle_exception,
    prepare_connection,
    register_routes,
    render_cell,
    skip_csrf,
)

__all__ = [
    "asgi_wrapper",
    "extra_template_vars",
    "handle_exception",
    "prepare_connection",
    "register_routes",
    "render_cell",
    "skip_csrf",
]
