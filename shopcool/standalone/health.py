"""``python -m shopcool.standalone.health ADDRESS``: exit 0 when the address answers with success."""

from __future__ import annotations

import sys

from shopcool.standalone.network import answers

if __name__ == "__main__":
    sys.exit(0 if answers(sys.argv[1]) else 1)
