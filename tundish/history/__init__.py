"""What closed calls teach: shares, cure chances, errors of looks, minutes, wording; how honest the odds were; the week.

Pure: counts and outcomes come in, estimates with intervals go out. Nothing is learned from an unproven call at full weight.
"""
