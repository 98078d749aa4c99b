#!/usr/bin/env python3
"""Command line of coachhub. `start` and `test` make their own environment first; see coachhub/environment.py."""

import os
import sys

from coachhub import environment


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coachhub.settings")
    arguments = sys.argv[1:]
    environment.ensure(arguments)
    if arguments[:1] == ["test"]:
        sys.exit(environment.run_tests(arguments[1:]))
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
