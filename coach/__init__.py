"""coach listens to a spoken showmanship rehearsal and reports what was told, skipped, misnamed or said wrong."""

from coach.quiet import hush

__version__ = "0.1.0"

hush()
