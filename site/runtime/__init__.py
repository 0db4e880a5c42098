"""Python for the browser: fetched, compiled, and frozen into a memory snapshot at build time."""
