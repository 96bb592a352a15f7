"""The only part, with the web and the command line, that touches disk and clock."""
