"""Drawings of an axle and of a front: a record in mm of paper first, then its text as SVG, PDF or PNG."""
