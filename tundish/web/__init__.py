"""The bench in the hand: a local web server, the pages on the phone, and who may use them."""
