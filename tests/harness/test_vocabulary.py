"""Kinds, roles and bodies from the words people write; spellings of real lists and of the trade."""

from __future__ import annotations

import pytest

from harnessdrc.harness.roles import GROUND_ROLES
from harnessdrc.harness.vocabulary import guess_body, guess_kind, guess_role, is_sensor, known_words
from harnessdrc.tables.words import BODIES, KINDS, ROLES

NAMES = {
    "controller": "ECU plug A|ECU connector 2|ECU-A conn|"
    "ECU|ECU-A|Ecu B|ENGINE ECU|ECM|Engine control unit|Engine management unit|PCM plug 1|TCU controller",
    "battery": "Battery|BATT|Battery 12V|Battery +|house battery",
    "alternator": "Alternator|ALT|Generator|Alternator B+",
    "starter": "Starter|Starter motor|STARTER SOLENOID",
    "coil": "Coil 1 plug|Coil 1|COIL3|Coil-4|COP2|Ignition coil 1|Coil pack A|IGN COIL 2|coil on plug 6",
    "igniter": "Igniter|Ignition module|Ignition amplifier 1",
    "injector": "Injector 1|INJ3|Inj. 4|fuel injector 2|INJ-8",
    "fuel pump": "Fuel pump|Lift pump|FUEL PUMP 1",
    "water pump": "Water pump|Bilge pump|Coolant pump",
    "fan": "Fan|Radiator fan|Cooling fan LH|Blower",
    "solenoid": "Boost valve|Idle valve|Purge solenoid|VVT solenoid|Compressor",
    "temperature sensor": "CLT|CLT sensor|Coolant temp|IAT|Air temp sensor|ECT SENSOR|Oil temp|Oil temp sensor",
    "pressure sensor": "MAP|MAP sensor|Oil pressure|Oil press sensor|Fuel pressure sensor|Baro",
    "position sensor": "TPS|TPS connector|Throttle position sensor|Pedal|Throttle pot",
    "trigger sensor": "Crank sensor|CKP|Cam sensor|CMP|Crank|CAM 1|Crank angle sensor",
    "reluctor sensor": "Crank VR|VR sensor|Crank reluctor",
    "Hall sensor": "Cam hall|Hall sensor|CRANK HALL",
    "knock sensor": "Knock 1|Knock sensor",
    "oxygen sensor": "Lambda|O2 sensor|Wideband|Lambda sensor 2",
    "speed sensor": "VSS|Wheel speed FL|Vehicle speed sensor",
    "switch": "Kill switch|Ignition switch|Start button|Key switch|Main Breaker|Oil pressure switch|Lanyard kill switch",
    "isolator": "Battery isolator|Battery switch|Main battery switch|Master switch|Isolator 1|Battery master|Batt SW|"
    "Battery kill switch|Batterietrennschalter|Coupe-batterie|Staccabatteria|Hauptschalter",
    "relay": "Main relay|Fuel pump relay|FAN RLY|RELAY 3|Starter relay|Battery isolator relay",
    "fuse": "F0001|Fuse 3|F12|FUSE F2|F1|Fusible link",
    "capacitor": "Capacitor|Suppression capacitor 1|Condenser",
    "diode": "Diode 1|Flyback diode",
    "splice": "SP00011|Splice 4|SPL-3|SP12|S7|Compressor – splice|SPLICE SG",
    "post": "Power post|Bus bar|Busbar +|Terminal block 2|Distribution post",
    "earth point": "Earth point 1|Head stud|Chassis earth|GND stud|Star point|Engine ground|Block stud|Chassis GND",
    "display": "Dash|Display|Tacho|Rev counter gauge",
    "logger": "Data logger|Logger",
    "power distribution": "Fuse box|PDM|Relay board|PD board 30AMP|Fusebox",
    "connector": "Injector loom plug|Coil loom connector|Bulkhead plug|Bulkhead|Bulkhead connector|Inline 4|Conn 12",
    "lamp": "Warning light|Lamp|Headlamp LH|Strobe",
}  # fmt: skip


@pytest.mark.parametrize(("kind", "name"), [(k, n) for k, names in NAMES.items() for n in names.split("|")])
def test_kind_of_a_name(kind: str, name: str) -> None:
    guess = guess_kind(name)
    assert guess is not None
    assert guess.value == kind
    assert guess.words


@pytest.mark.parametrize(
    "name", ["X12", "P3", "S1234", "F12345", "Box 9", "Widget", "", "  ", "12", "?", "Rear left corner"]
)
def test_a_name_that_says_nothing_is_not_guessed(name: str) -> None:
    assert guess_kind(name) is None


# Role → signal names, on a controller's pin unless another kind stands before a colon.
SIGNALS = {
    "power ground": "Power ground|PWR GND|P Ground|Power Gnd 2|ECU ground|PGND|GND|Ground|0V|Earth|Injector ground|"
    "igniter:GND",
    "sensor ground": "Sensor ground|SENSE_GND|Sensor GND|AGND|Sensor 0V|SGND|Sensor return|Signal ground|5V return|"
    "TPS ground|CLT return|temperature sensor:GND|pressure sensor:Ground|position sensor:0V|Hall sensor:gnd",
    "battery feed": "Battery feed|Permanent 12V|B+ constant power|Battery +|Constant 12V|Perm 12V|KL30|battery:+|"
    "alternator:B+|starter:30|battery:12V",
    "switched feed": "Switched 12V|Ignition feed|Ign 12V|+12V|12V|ECU power|Main relay out|KL15|Switched +12V|"
    "IGN|Ignition|Ign 12 V|Ignition 12 volts",
    "fused feed": "Fused feed|Fused 12V|fuse:out",
    "sensor supply": "Sensor 5V|5V|+5V|Sensor supply|5V ref|Vref|TPS 5V|5vPWR sensor 5V|temperature sensor:5V|"
    "pressure sensor:12V|Hall sensor:+",
    "temperature signal": "CLT|CLT signal|Coolant temp|IAT|Oil temp|ECT signal|temperature sensor:Signal",
    "analogue signal": "TPS|TPS signal|MAP|MAP signal|Oil pressure|Lambda|Analogue in 3|pressure sensor:Signal|"
    "position sensor:wiper|Joystick LR",
    "trigger signal +": "Crank +|CKP+|Cam signal|Crank VR +|VR+|Trigger 1|Crank hall|reluctor sensor:+|"
    "Hall sensor:Signal|Crank sig|Sync signal",
    "trigger signal -": "Crank -|CKP-|Crank VR -|VR-|Trigger return|reluctor sensor:-|reluctor sensor:GND|Cam neg",
    "coil input": "Ignition 1|IGN 3|Coil 4|Coil 1 drive|Coil trigger|coil:Signal|Ignition output 2|Spark 2",
    "coil primary -": "Coil 1 -|Coil -|Coil negative|Coil primary",
    "coil high-voltage return": "HV return|Coil 1 HV return|HT return|Secondary ground|HT earth|Coil 3 HV ground",
    "coil ground": "Coil ground|Coil 2 ground|Coil 3 GND|Coils ground|coil:GND|coil:31|Coil earth",
    "injector drive": "Injector 1|INJ 3|Inj 4 drive|Injector 2 -|injector:signal|Inj. 6",
    "low-side output": "Fuel pump relay|Fan relay|Relay drive|Tacho|Idle PWM|Main relay|Low side out 3|MIL",
    "CAN high": "CAN H|CANH|CAN high|CAN_H|CAN1 H|CAN +|CAN2 H|CAN 2 high|CANBUS H",
    "CAN low": "CAN L|CANL|CAN low|CAN_L|CAN -|CAN2 L|CAN 2 low|CANBUS L",
    "shield drain": "Shield|Screen|Drain|Crank shield|Shield GND|Shield Crank/Cam GND|Braid",
    "load feed": "fuel pump:12V|fan:+|Pump feed|Fan feed|Coil feed|injector:12V|Coil 12V|solenoid:B+|Injector feed|"
    "Injector supply|fan:Power",
    "load return": "fuel pump:GND|fan:-|Pump ground|Fan ground|solenoid:Ground|lamp:Earth|display:GND|fan:31",
    "relay coil": "relay:85|relay:86",
    "relay contact": "relay:30|relay:87|relay:87a",
    "battery negative": "battery:-|battery:Neg|Battery negative|Batt GND|battery:GND",
    "starter feed": "Start signal|starter:50|Crank request|Starter solenoid",
    "ignition switch": "Ignition switch|Key on|alternator:D+",
    "digital signal": "VSS|Wheel speed|Switch input|TX|RX|speed sensor:signal",
    "spare": "Spare|N/C|Not used|reserved|NC|Unused",
}  # fmt: skip


@pytest.mark.parametrize(("role", "text"), [(r, t) for r, texts in SIGNALS.items() for t in texts.split("|")])
def test_role_of_a_signal(role: str, text: str) -> None:
    kind, colon, signal = text.rpartition(":")
    guess = guess_role(signal, kind if colon else "controller", own_pin=True)
    assert guess is not None
    assert guess.value == role
    assert guess.words


@pytest.mark.parametrize("text", ["", " ", "*", "(??)", "#", "X", "blue", "12", "A7", "to be decided", "left"])
def test_a_signal_that_says_nothing_is_not_guessed(text: str) -> None:
    assert guess_role(text, "controller", own_pin=True) is None


def test_the_device_decides_what_a_plain_ground_is() -> None:
    """GND is a sensor's sensor ground, a coil's coil ground, a pump's return and a controller's power ground."""
    of_kind = {
        "temperature sensor": "sensor ground", "Hall sensor": "sensor ground", "reluctor sensor": "trigger signal -",
        "coil": "coil ground", "igniter": "power ground", "fuel pump": "load return", "controller": "power ground",
        "battery": "battery negative", None: "load return",
    }  # fmt: skip
    for kind, role in of_kind.items():
        guess = guess_role("GND", kind)
        assert guess is not None
        assert guess.value == role, kind


def test_the_longest_phrase_decides_and_is_told() -> None:
    guess = guess_role("Sensor ground splice", "controller")
    assert guess is not None
    assert (guess.value, guess.words) == ("sensor ground", "sensor ground")
    guess = guess_kind("Fuel pump relay")
    assert guess is not None
    assert (guess.value, guess.words) == ("relay", "relay")


@pytest.mark.parametrize(
    ("name", "body"),
    [
        ("Head stud", "head"), ("Cyl head earth", "head"), ("Engine block", "block"), ("Gearbox stud", "block"),
        ("Engine ground", "engine"), ("Chassis stud", "chassis"), ("Firewall GND", "chassis"), ("Hull bond", "hull"),
        ("Battery negative", "battery negative"), ("Battery -", "battery negative"), ("Monocoque stud", "chassis"),
        ("Battery box stud", None), ("Ground point 7", None), ("Headlamp LH", None), ("Box 9", None),
    ],
)  # fmt: skip
def test_body_of_a_name(name: str, body: str | None) -> None:
    guess = guess_body(name)
    assert (guess.value if guess else None) == body


def test_every_word_of_the_vocabulary_is_a_word_of_the_lists() -> None:
    roles = {name for name, _ in ROLES} | {"battery negative", "starter feed"}
    assert known_words() <= roles
    assert roles >= GROUND_ROLES
    assert roles >= {"battery feed", "switched feed", "fused feed", "load feed", "sensor supply"}
    kinds = {name for name, _ in KINDS} | {"post", "trigger sensor"}
    assert set(NAMES) <= kinds
    for name, _ in KINDS:
        if name not in ("load",):
            guess = guess_kind(name)
            assert guess is not None, f"{name} is a kind of the lists and is not known by its own name"
            assert guess.value == name
    for name, _ in BODIES:
        guess = guess_body(name)
        assert guess is not None
        assert guess.value == name


def test_every_role_is_known_by_its_own_name() -> None:
    on_their_own = {"relay coil": "relay", "relay contact": "relay", "load feed": "fan", "load return": "fan"}
    for name, _ in ROLES:
        if name.startswith("relay "):
            continue  # told by the terminal's marking alone
        guess = guess_role(name, on_their_own.get(name, "controller"))
        assert guess is not None, name
        assert guess.value == name


def test_sensors_are_told_by_their_kind() -> None:
    assert is_sensor("temperature sensor")
    assert is_sensor("Hall sensor")
    assert not is_sensor("coil")
    assert not is_sensor(None)
