"""Every number of the weighing and every sentence of caution, by name: the page has none of its own."""

from __future__ import annotations

from backprobe.circuit import settle
from backprobe.circuit.setup import VOLTMETER_OHMS
from backprobe.diagnosis import answer as answers
from backprobe.diagnosis import (
    cause,
    cautions,
    checks,
    evidence,
    explain,
    fault_sets,
    fit,
    grow,
    lamp_looks,
    next_check,
    pairs,
    predict,
    quick_worth,
    ranking,
    scene,
    search,
    seen,
    wear,
)
from backprobe.faults.catalogue import NONE_OF_THESE
from backprobe.readings.model import GAIN
from backprobe.report.check_words import NOTHING_FITS
from backprobe.report.controller_words import CONTROLLER
from backprobe.report.layout import FIRST
from backprobe.sheet.anatomy import LEAK_TO_CHASSIS


def constants() -> dict[str, float | dict[str, float]]:
    """Every number of the weighing, by its name: the page has none of its own."""
    return {
        "leak": LEAK_TO_CHASSIS,
        "meter": VOLTMETER_OHMS,
        "heat": settle.HEAT,
        "slip": predict.SLIP,
        "leads": predict.LEADS,
        "touch": predict.TOUCH,
        "touchZeroed": predict.TOUCH_ZEROED,
        "testAmps": predict.TEST_AMPS,
        "testSpread": predict.TEST_SPREAD,
        "testVolts": predict.TEST_VOLTS,
        "confused": predict.CONFUSED_ABOVE,
        "noVolts": predict.NO_VOLTS,
        "carries": predict.CARRIES,
        "fuseSpread": predict.FUSE_SPREAD,
        "overRange": predict.OVER_RANGE,
        "floor": dict(predict.FLOOR),
        "ghost": predict.GHOST,
        "ghostOhms": predict.GHOST_OHMS,
        "chatter": predict.CHATTER_SPREAD,
        "burnt": predict.BURNT,
        "glows": predict.GLOWS_ABOVE,
        "gain": dict(GAIN),
        "steps": fit.STEPS,
        "arrived": fit.ARRIVED,
        "patience": fit.PATIENCE,
        "flat": fit.FLAT,
        "slipped": explain.SLIPPED,
        "log2pi": evidence.LOG_2PI,
        "same": evidence.SAME,
        "keep": search.KEEP,
        "keepWords": search.KEEP_WORDS,
        "window": search.WINDOW,
        "bend": grow.BEND,
        "blur": fault_sets.BLUR,
        "blurLog": fault_sets.BLUR_LOG,
        "least": search.LEAST,
        "cells": search.CELLS,
        "apart": search.APART,
        "met": fault_sets.MET,
        "fits": fault_sets.FITS,
        "expected": fault_sets.EXPECTED,
        "noneOfThese": NONE_OF_THESE,
        "noneFloor": ranking.NONE_FLOOR,
        "noneCeiling": ranking.NONE_CEILING,
        "alikeLog": ranking.ALIKE_LOG,
        "alikeSpreads": ranking.ALIKE_SPREADS,
        "slipNamed": ranking.SLIP_NAMED,
        "shown": ranking.SHOWN,
        "nearly": answers.NEARLY,
        "negligible": cause.NEGLIGIBLE,
        "leastDead": cause.LEAST_DEAD,
        "mild": wear.MILD,
        "moved": wear.MOVED,
        "sameSpreads": wear.SAME_SPREADS,
        "falseSign": seen.FALSE_SIGN,
        "fuseSeen": seen.FUSE_SEEN,
        "linkSeen": seen.LINK_SEEN,
        "falseFuse": seen.FALSE_FUSE,
        "ledGlows": lamp_looks.LED_GLOWS,
        "ledSpread": lamp_looks.LED_SPREAD,
        "most": scene.MOST,
        "each": scene.EACH,
        "leastShare": scene.LEAST_SHARE,
        "eachSetup": next_check.EACH_SETUP,
        "sure": next_check.SURE,
        "still": quick_worth.STILL,
        "alike": pairs.ALIKE,
        "bins": next_check.BINS,
        "digits": next_check.DIGITS,
        "wide": next_check.WIDE,
        "live": next_check.LIVE,
        "flip": checks.FLIP_MINUTES,
        "start": checks.START_MINUTES,
        "unplug": checks.UNPLUG_MINUTES,
        "lead": checks.LEAD_MINUTES,
        "black": checks.BLACK_MINUTES,
        "look": checks.LOOK_MINUTES,
        "ohmsExtra": checks.OHMS_EXTRA,
        "pull": checks.FUSE_PULL_MINUTES,
    }


def words() -> dict[str, str]:
    """Sentences that the engine's own screens say too."""
    return {
        "beforeUnplugging": cautions.BEFORE_UNPLUGGING,
        "cranks": cautions.CRANKS,
        "moves": cautions.MOVES,
        "rolls": cautions.ROLLS,
        "ohmsDead": cautions.OHMS_DEAD,
        "nothingFits": NOTHING_FITS,
        "controller": CONTROLLER,
        "first": FIRST,
    }
