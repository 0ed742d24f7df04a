"""The codes of what a trial that is read shows: the burner, gas, cold and ice, readings that look wrong."""

from __future__ import annotations

from reportgen.codes.code import Code

#: By code, in the order in which a trial meets them.
TRIAL_CODES = {
    # The burner
    "lit-twice": Code(
        "note", "The burner is lit again without having gone out; burning on.", "Add the burner out between, if it was."
    ),
    "out-unlit": Code("note", "The burner goes out without having been lit; not used.", "Add when it was lit."),
    "end-not-recorded": Code(
        "caution", "Nobody wrote when the burner went out; the last reading counts.", "Add out under [burner]."
    ),
    "no-reading-after-lit": Code(
        "caution", "No reading lies after lighting, so there is no run.", "Compare lit with the times of the logs."
    ),
    "times-differ": Code(
        "caution", "trial.toml and a log row differ on a time; trial.toml is used.", "Correct the one that is wrong."
    ),
    # Gas
    "gas-not-used": Code(
        "caution", "The gas readings give no gas used.", "Read the gas when the burner is lit and when it goes out."
    ),
    "gas-misread": Code(
        "caution", "A gas reading is out of line with its neighbours; not used as gas.", "Compare it with the notebook."
    ),
    "meter-rollover": Code("note", "The meter passed its highest number.", "Nothing, if that is right."),
    "level-not-used": Code("note", "Gas levels are logged beside volumes; the volumes are used.", "Nothing."),
    "level-outside-table": Code(
        "caution", "Gas levels lie outside gas.level_table and are not used.", "Extend the table to these levels."
    ),
    "refill": Code("note", "The content rises with the burner lit; read as a refill.", "Nothing, if that is right."),
    "refill-not-seen": Code(
        "caution", "A refill is logged, but the gas readings do not show it.", "Read the content before and after."
    ),
    "holder-rises": Code("note", "The open holder rises with the burner lit; read as production.", "Nothing."),
    "holder-leaks": Code(
        "caution", "The idle holder falls more than temperature explains.", "Look for a leak; log gas used elsewhere."
    ),
    "idle-rise": Code("note", "The idle holder rises; read as production.", "Nothing, if the inlet was open."),
    "thermal-breathing": Code("note", "The idle holder moves as temperature and pressure move it.", "Nothing."),
    "flame-out-not-logged": Code(
        "caution", "Hardly any gas left while the burner counts as lit.", "Add the times it was out and lit again."
    ),
    "flame-changed": Code("caution", "The gas rate changed in the run.", "Note what was changed, and when."),
    "rate-drifts": Code("note", "The gas rate drifts through the run.", "Nothing; a governor holds it steady."),
    # Cold and ice
    "same-instant": Code(
        "note", "Cabinet readings share a time; their mean is used.", "Write seconds, or one of them."
    ),
    "response-doubtful": Code(
        "caution",
        "The cabinet does not quite follow a first-order response.",
        "Keep door and flame as they are in the run; log more often.",
    ),
    "cooled-before": Code("note", "The cabinet was cold before the burner was lit.", "Start warm to compare runs."),
    "ambient-swings": Code("note", "Ambient changed much in the run.", "Keep the appliance in the shade."),
    "solid-above-zero": Code(
        "caution", "The ice is called solid, but the cabinet was never below 0 °C.", "Check thermometer, unit and sign."
    ),
    "warmer-than-ambient": Code(
        "caution", "The cabinet was warmer than its surroundings with the burner lit.", "Check which probe is which."
    ),
    "containers": Code("note", "The last container to be solid counts.", "Nothing."),
    "containers-not-seen": Code(
        "caution", "Fewer containers were looked at than are stated.", "Look at each; name it in the container column."
    ),
    "solid-then-not": Code(
        "caution", "The ice is solid in one row and not in a later one.", "Correct the row that is wrong."
    ),
    "faster-than-plank": Code(
        "caution", "The ice was solid sooner than its thickness allows.", "Check thickness, shape and the looks."
    ),
    "probe-off-at-freezing": Code(
        "note", "The probe in the water did not read 0 °C at freezing.", "Check the probe in crushed ice and water."
    ),
    "ice-lighter": Code("caution", "The ice weighs less than the water put in.", "Weigh all of it, dry."),
    # Readings that look wrong
    "stands-alone": Code(
        "caution", "A temperature lies there and back beside its neighbours; left out of fits.", "Correct it if a slip."
    ),
    "door-openings": Code(
        "note", "The cabinet rose and was soon back, as by its door; left out of fits.", "Log each opening as an event."
    ),
    "stands-still": Code(
        "caution", "The cabinet repeats one reading too long; left out of fits.", "Check the sensor and the log."
    ),
    "sign-left-out": Code(
        "caution", "The cabinet turns at 0 °C as if minus signs were left out.", "Write the sign where it is missing."
    ),
    "two-in-one": Code("caution", "One column holds two thermometers by turns.", "Give each a column of its own."),
    "one-time-two-values": Code("caution", "One time has two different readings.", "Delete the one that is wrong."),
    "gap": Code("note", "Readings are missing for a while with the burner lit.", "Nothing; read more often next time."),
    "heaped-digits": Code("note", "Readings keep to a coarser step than written.", "State cabinet.resolution."),
    "before-the-flame": Code(
        "caution", "Cabinet or boiler answer before the burner was lit.", "Compare the clocks; correct times or lit."
    ),
    "unit-changes": Code(
        "caution",
        "A stretch of temperatures looks as if it were in °F or K; not used until answered.",
        "Write it in °C, or log what was done then.",
    ),
    "feed-far-above-usual": Code(
        "caution", "A feed is seven times the usual of its material or more; used.", "Correct the log if it is a slip."
    ),
    "date-after-run": Code(
        "caution",
        "A row of feed or gas after the run stands out of its log; used.",
        "Correct its date if it is a slip.",
    ),
    "factor-of-thousand": Code("caution", "Gas readings jump by a factor of 1000.", "Write the column in one unit."),
    "gas-direction": Code(
        "caution", "The gas readings go the wrong way for gas.kind.", "Check gas.kind and the column."
    ),
    "few-gas-steps": Code(
        "note", "The gas used is only a few steps of the scale.", "Run longer, or weigh the water displaced."
    ),
    # What is unusual
    "impossible-figure": Code(
        "caution", "A figure came out as it cannot be; it is withheld.", "Check the readings it comes from."
    ),
    "unusual-cop": Code("caution", "The thermal COP is outside what is usual.", "Check masses, gas and methane."),
    "unusual-gas-rate": Code("caution", "Gas per hour is outside what is usual.", "Check readings, unit and gas.kind."),
    "unusual-burner-power": Code("caution", "Burner power is outside what is usual.", "Check gas, unit and methane."),
    "unusual-methane": Code("caution", "The methane is outside what is usual.", "Sample again, without air."),
    "unusual-yield": Code("caution", "The gas per waste is outside what is usual.", "Check that all feed is logged."),
    "above-known-units": Code(
        "caution", "The COP is above that of any known small unit.", "Check masses, gas and methane."
    ),
    "feeding-not-steady": Code(
        "note", "Feeding was not steady enough for totals to compare.", "Feed alike each day, or state a yield."
    ),
}
