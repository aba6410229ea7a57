"""Room: the command line. Imports nothing heavy, so that ``--help`` is instant."""
