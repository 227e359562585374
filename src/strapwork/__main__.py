"""``python -m strapwork``."""

from strapwork.cli.main import main

raise SystemExit(main())
