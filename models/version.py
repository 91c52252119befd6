"""The version, in one place, which pyproject.toml reads too: to look it up among what is installed would open
every package there is."""

VERSION = "0.1.0"
