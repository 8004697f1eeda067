"""One file a decorating method: its limits, the words a client reads, their sources.  Open one and change a limit."""
