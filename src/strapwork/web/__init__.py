"""The page in the browser: thin, it calls what the command line calls."""
