"""Pictures drawn on the server as SVG: they print, need no script and every mark can have a title."""
