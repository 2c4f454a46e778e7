"""Commands by theme; each module registers its own on the command line."""
