"""One campaign shared by several machines through a database."""
