"""What makes knowledge and pictures: the ensemble behind the signatures, a call as a picture.

Run by hand, outside the wheel.
"""
