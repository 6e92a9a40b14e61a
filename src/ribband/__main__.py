"""``python -m ribband`` is the command ``ribband``."""

from ribband.cli import main

if __name__ == "__main__":
    main()
