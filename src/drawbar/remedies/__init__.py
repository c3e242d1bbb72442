"""What puts a job right whose pressures fail: changes that a fitter would build, each verified, the best first.

It imports the check and the sizing, never the screens.
"""
