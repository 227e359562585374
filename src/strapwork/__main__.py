"""``python -m strapwork``."""

from strapwork.cli import main

raise SystemExit(main())
