"""Circuits beyond the registry, to see that the drawing rules are rules and no pictures kept by name."""

from dataclasses import replace

from singlerail_nb.circuit.bias_sources import BIAS_SOURCES
from singlerail_nb.circuit.builder import CircuitBuilder
from singlerail_nb.circuit.elements import GROUND, Source

PATH = ("signal", "plus", "amp_out", "output")
INVERTING_PATH = ("signal", "amp_out", "output")


def _parts(circuit, text):
    """Add parts: "r_f amp_out minus, c_g leg ground"."""
    for line in text.split(","):
        name, one, other = line.split()
        add = circuit.resistor if name.startswith("r") else circuit.capacitor
        add(name, one, other, name)


def _with_inputs(circuit, *names):
    return replace(circuit, sources=(*circuit.sources, *(Source(name, name) for name in names)))


def _stage(name, path, text, bias="filtered_divider", opamp=("plus", "minus", "amp_out"), load=True):
    circuit = CircuitBuilder(name, path)
    _parts(circuit, text)
    if bias:
        BIAS_SOURCES[bias](circuit)
    circuit.opamp(*opamp)
    if load:
        _parts(circuit, f"c_out amp_out output, r_load output {GROUND}")
    return circuit.build()


def difference(bias="filtered_divider"):
    text = "r_1 signal minus, r_2 amp_out minus, r_3 signal_2 plus, r_4 plus bias"
    return _with_inputs(_stage("difference", INVERTING_PATH, text, bias), "signal_2")


def summing(bias="filtered_divider"):
    others = [f"c_{n} drive_{n} signal_{n}, r_{n} drive_{n} minus" for n in (2, 3)]
    text = ", ".join(["c_1 drive signal, r_1 drive minus", *others, "r_f amp_out minus, c_f amp_out minus"])
    circuit = _stage("summing", INVERTING_PATH, text, bias, ("bias", "minus", "amp_out"))
    return _with_inputs(circuit, "signal_2", "signal_3")


def bootstrapped(bias="filtered_divider"):
    text = "c_in plus signal, r_1 plus middle, r_2 middle bias, c_boot amp_out middle"
    return _stage("bootstrapped", PATH, text, bias, ("plus", "amp_out", "amp_out"))


def second_order_high_pass(bias="filtered_divider"):
    text = "c_1 middle signal, c_2 plus middle, r_1 amp_out middle, r_bias bias plus"
    return _stage("second_order_high_pass", PATH, text, bias, ("plus", "amp_out", "amp_out"))


def second_order_low_pass(bias="filtered_divider"):
    filters = "r_1 drive middle, r_2 middle plus, c_1 middle amp_out, c_2 plus bias"
    text = f"c_in drive signal, {filters}, r_bias drive bias"
    return _stage("second_order_low_pass", PATH, text, bias, ("plus", "amp_out", "amp_out"))


def two_feedback_paths(bias="filtered_divider"):
    text = f"r_1 signal middle, c_1 middle {GROUND}, r_2 middle minus, c_2 minus amp_out, r_3 middle amp_out"
    return _stage("two_feedback_paths", INVERTING_PATH, text, bias, ("bias", "minus", "amp_out"))


def leg_on_the_bias(bias="filtered_divider"):
    text = "c_in plus signal, r_bias bias plus, r_f amp_out minus, r_g minus bias"
    return _stage("leg_on_the_bias", PATH, text, bias)


def long_feedback(bias="filtered_divider"):
    tee = f"r_f1 amp_out tee, r_f2 tee minus, r_tee tee {GROUND}"
    text = f"c_in plus signal, r_bias bias plus, {tee}, r_g minus {GROUND}"
    return _stage("long_feedback", PATH, text, bias)


def series_feedback(bias="filtered_divider"):
    text = "c_in drive signal, r_in drive minus, r_f amp_out within, c_f within minus, r_p amp_out minus"
    return _stage("series_feedback", INVERTING_PATH, text, bias, ("bias", "minus", "amp_out"))


def divider_at_the_input():
    text = (
        f"c_in plus signal, r_top supply plus, r_bottom plus {GROUND}, r_f amp_out minus, "
        f"r_g minus leg, c_g leg {GROUND}, c_supply supply {GROUND}"
    )
    return _stage("divider_at_the_input", PATH, text, None)


def level_shift_up():
    circuit = CircuitBuilder("level_shift_up", PATH[:3])
    circuit.source("reference", "Reference voltage", "regulated")
    _parts(circuit, f"r_1 signal plus, r_2 reference plus, r_f amp_out minus, r_g minus {GROUND}")
    circuit.opamp("plus", "minus", "amp_out")
    return circuit.build()


def level_shift_down():
    circuit = CircuitBuilder("level_shift_down", PATH[:3])
    circuit.source("reference", "Reference voltage", "regulated")
    _parts(
        circuit, f"r_1 signal plus, r_2 plus {GROUND}, r_f amp_out minus, r_g minus offset, "
        f"r_a reference offset, r_b offset {GROUND}",
    )  # fmt: skip
    circuit.opamp("plus", "minus", "amp_out")
    return circuit.build()


def level_shift_from_a_follower():
    circuit = CircuitBuilder("level_shift_from_a_follower", PATH[:3])
    circuit.source("reference", "Reference voltage", "regulated")
    circuit.opamp("filtered", "drive", "drive", "follower")
    _parts(
        circuit, f"r_1 signal plus, r_2 plus {GROUND}, r_f amp_out minus, r_g minus offset, "
        f"r_0 reference filtered, c_0 filtered {GROUND}, r_a drive offset, r_b offset {GROUND}",
    )  # fmt: skip
    circuit.opamp("plus", "minus", "amp_out")
    return circuit.build()


def grounded_input():
    text = "r_in signal minus, r_f amp_out minus"
    return _stage(
        "grounded_input", ("signal", "amp_out"), text, None, (GROUND, "minus", "amp_out"), load=False
    )


def straight_through():
    text = f"r_load amp_out {GROUND}"
    return _stage(
        "straight_through", ("signal", "amp_out"), text, None, ("signal", "amp_out", "amp_out"), load=False
    )


def two_stages(bias="filtered_divider"):
    circuit = CircuitBuilder("two_stages", ("signal", "plus", "between", "plus_2", "amp_out", "output"))
    _parts(circuit, "c_in plus signal, r_bias bias plus")
    BIAS_SOURCES[bias](circuit)
    circuit.opamp("plus", "minus", "between", "first")
    _parts(
        circuit,
        f"r_f between minus, r_g minus leg, c_g leg {GROUND}, c_mid between plus_2, r_bias_2 bias plus_2",
    )
    circuit.opamp("plus_2", "minus_2", "amp_out", "second")
    _parts(circuit, f"r_f_2 amp_out minus_2, r_g_2 minus_2 leg_2, c_g_2 leg_2 {GROUND}")
    _parts(circuit, f"c_out amp_out output, r_load output {GROUND}")
    return circuit.build()


def two_channels(bias="filtered_divider"):
    circuit = CircuitBuilder("two_channels", PATH)
    for n in ("", "_2"):
        _parts(
            circuit, f"r_source{n} signal{n} source{n}, c_in{n} plus{n} source{n}, r_bias{n} bias plus{n}, "
            f"r_f{n} amp_out{n} minus{n}, r_g{n} minus{n} leg{n}, c_g{n} leg{n} {GROUND}, "
            f"c_out{n} amp_out{n} output{n}, r_load{n} output{n} {GROUND}",
        )  # fmt: skip
        circuit.opamp(f"plus{n}", f"minus{n}", f"amp_out{n}", f"opamp{n}")
    BIAS_SOURCES[bias](circuit)
    return _with_inputs(circuit.build(), "signal_2")


ON_A_BIAS = (
    difference, summing, bootstrapped, second_order_high_pass, second_order_low_pass, two_feedback_paths,
    leg_on_the_bias, long_feedback, series_feedback, two_stages, two_channels,
)  # fmt: skip
ALONE = (
    divider_at_the_input, level_shift_up, level_shift_down, level_shift_from_a_follower, grounded_input,
    straight_through,
)  # fmt: skip
BIASES = ("divider", "filtered_divider", "zener", "buffered_divider")
CIRCUITS = {f"{build.__name__}, {bias}": build(bias) for build in ON_A_BIAS for bias in BIASES}
CIRCUITS |= {build.__name__: build() for build in ALONE}
