"""The words of the kit, the bench, marking, measurement, variation and records.

Everything here is a pure function over plain values or a reader and writer of
one kind of file. Nothing in this package knows of a page, a notebook or an
exam room; :mod:`lessons` and :mod:`assessments` import it, never the reverse.
"""

KIT_VERSION = "0.1.0"
"""Version written into every answer log and mark, and into the distribution."""
