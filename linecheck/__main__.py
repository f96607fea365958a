"""``python -m linecheck``: the same as the command ``linecheck``."""

from linecheck.command_line import main

if __name__ == "__main__":
    main()
