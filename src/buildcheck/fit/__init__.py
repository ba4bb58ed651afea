"""A bike as facts and graphs, and the engine that runs rules over them."""
