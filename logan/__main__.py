"""``python -m logan``."""

from logan.cli import main

if __name__ == "__main__":
    main()
