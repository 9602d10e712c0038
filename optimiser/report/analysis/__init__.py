"""What one axle does: the record and the tables of it."""
