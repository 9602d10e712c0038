"""What is fitted to an axle beside its geometry: springs, dampers and the loads that it must carry."""
