"""A call is its events; its state is a fold over them."""
