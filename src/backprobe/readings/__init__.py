"""What a person can see: points, setups, instruments and the lines that record them."""
