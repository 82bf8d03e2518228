"""Small samples of every form that is read, from which inputs are mutated.

Most are written here or taken from the heads of ``sample_logs``; the heads of real recordings are added where the
environment variable LOGAN_CAPTURES names their folder.
"""

from __future__ import annotations

import gzip
import io
import os
import struct
import tempfile
import wave
from pathlib import Path

import can
import numpy as np

ROOT = Path(__file__).parents[3]
DATA = ROOT / "logan" / "knowledge" / "data"

LOG = b"""(1700000000.000000) can0 7DF#02010C0000000000
(1700000000.010000) can0 7E8#04410C1AF8AAAAAA
(1700000000.020000) can0 18FEF100#F7FFFF0000FF00FF R
(1700000000.030000) can1 18FEF100##1F7FFFF0000FF00FF112233445566
(1700000000.040000) can0 7E8#10144902015A5A5A
(1700000000.050000) can0 7E0#30000A0000000000
(1700000000.060000) can0 7E8#215A5A5A5A5A5A5A
(1700000000.070000) can0 123#R8
(1700000000.080000) can0 20000080#0000000000000000
(1700000000.090000) can0 1CECFF00#20130003FFCAFE00
"""
CONSOLE = b"""  can0  7E8   [8]  03 41 05 5A AA AA AA AA
 (000.012000)  can0  18FEF100   [8]  F7 FF FF 00 00 FF 00 FF
  can1  123   [0]
  vcan0  RX - -  1F334455   [3]  11 22 33   '."3'
"""
TABLE = b"""# start: 2023-11-14T22:13:20+01:00
# comment
Time [s],Engine RPM [rpm],Coolant Temperature [degF],Speed (mph),TPS
0.0,800,180.5,0,12.5 %
0.1,801,,0,12.5 %
0.2,"802",180.7,3,nan
0.3,803,-,3,12.5 %
"""
TABLE_COMMA = "Zeit;Drehzahl [1/min];Kühlmittel [°C]\n10:12:13,5;800,5;80,1\n10:12:14,0;801;80,2\n".encode()
TABLE_DATE = (
    b"timestamp,engine_speed [rpm],vehicle_speed [km/h]\n2024-02-28T23:59:59.5Z,800,0\n2024-02-29T00:00:00.5Z,801,1\n"
)
TABLE_UNIX = b"timestamp,engine_speed [rpm]\n1700000000.123456789,800\n1700000000.223456789,801\n"
FRAME_TABLE = b"Time [ms],ID,DLC,Data\n" + b"1.5,7E8,3,02 41 0C\n2.5,18FEF100x,8,F7 FF FF 00 00 FF 00 FF\n" * 5
J1939_TABLE = b"Time [ms],PGN,Source,Destination,Priority,Data\n" + b"1.5,65265,0,255,6,F7 FF FF 00 00 FF 00 FF\n" * 6
KLINE_BYTES = bytes.fromhex("C233F1010CF3 83F110C1E98FBD 486B10410F6376 686AF10100C4")
KLINE = b"time_s,byte\n" + b"".join(b"%.3f,%02X\n" % (0.001 * k, byte) for k, byte in enumerate(KLINE_BYTES))
SERIAL = b"""ATZ\r\rADAPTER v1.5\r\r>ATSP0\rOK\r\r>0100\rSEARCHING...\r41 00 BE 3F A8 13 \r
\r>010C\r41 0C 1A F8 \r\r>0902\r014 \r
0: 49 02 01 5A 5A 5A \r1: 5A 5A 5A 5A 5A 5A 5A \r2: 5A 5A 5A 5A 5A 5A 5A \r
\r>03\r7E8 06 43 02 01 33 02 34 \r\r>010D\rNO DATA\r\r>"""
PID_LINES = b"1.5:0c1af8,\n1.6:057b,\n1.8:0d00,\n2.0:0c1af0,\n2.1:05,\n"
EDGES = b"time_s,channel,edge\n" + b"".join(
    b"%.6f,%s,%s\n" % (0.001 * k, (b"crank", b"cam", b"pump")[k % 7 // 3], (b"rising", b"falling")[k % 2])
    for k in range(40)
)
LEVELS = b"Time[s],crank,cam\n" + b"".join(b"%.4f,%d,%d\n" % (0.01 * k, k % 2, k // 3 % 2) for k in range(30))
SAMPLES = b"time_s,crank_v,cam_v\n" + b"".join(b"%.4f,%.2f,%.2f\n" % (0.001 * k, k % 5, k % 3) for k in range(40))
VCD = b"""$date 2023-11-14T22:13:20 $end $timescale 10 us $end $scope module top $end
$var wire 1 ! crank $end $var wire 1 " cam $end $upscope $end $enddefinitions $end
$dumpvars 0! 0" $end
#10
1!
#25
0! 1"
#40
b1 !
#55
x!
"""
DBC = b"""VERSION ""
NS_ :
BS_:
BU_: ECU
BO_ 291 Engine: 8 ECU
 SG_ Speed : 0|16@1+ (0.125,0) [0|8031.875] "rpm" ECU
 SG_ Mode M : 16|4@1+ (1,0) [0|15] "" ECU
 SG_ Oil m1 : 24|8@1- (1,-40) [-40|210] "degC" ECU
 SG_ Fuel m2 : 31|8@0+ (0.5,0) [0|0] "%" ECU
BO_ 2566844926 EEC1: 8 ECU
 SG_ Ratio : 0|32@1- (1,0) [0|0] "" ECU
BA_DEF_ "ProtocolType" STRING ;
BA_DEF_DEF_ "ProtocolType" "J1939";
VAL_ 291 Mode 1 "one" 2 "two" ;
SIG_VALTYPE_ 2566844926 Ratio : 1;
"""


WORDS = ("cautions.toml", "work.toml", "measures.toml", "comparison.toml", "plan.toml")


def talk() -> list[can.Message]:
    said = [
        (0x7DF, "02010C"), (0x7E8, "04410C1AF8AAAAAA"), (0x18FEF100, "F7FFFF0000FF00FF"), (0x7E8, "10144902015A5A5A"),
        (0x7E0, "30000A"), (0x7E8, "215A5A5A5A5A5A5A"), (0x1CECFF00, "20130003FFCAFE00"), (0x123, ""),
    ]  # fmt: skip
    return [
        can.Message(timestamp=1.7e9 + 0.01 * k, arbitration_id=i, is_extended_id=i > 0x7FF, data=bytes.fromhex(data),
                    is_rx=k % 3 > 0, channel=k % 2)
        for k, (i, data) in enumerate(said)
    ]  # fmt: skip


def library_forms(frames: list[can.Message]) -> dict[str, bytes]:
    """The frames in every form that python-can writes, by ending."""
    out = {}
    with tempfile.TemporaryDirectory() as folder:
        for ending in (".asc", ".blf", ".csv", ".db", ".trc", ".mf4"):
            path = Path(folder) / f"frames{ending}"
            with can.Logger(str(path)) as logger:
                for frame in frames:
                    logger.on_message_received(frame)
            out[ending] = path.read_bytes()
    return out


def pcap(frames: list[can.Message], *, ng: bool, cooked: bool) -> bytes:
    """A packet capture of CAN frames: link types 227 (SocketCAN) and 113 (Linux cooked), from their public pages."""
    packets = []
    for frame in frames:
        identifier = frame.arbitration_id | (0x80000000 if frame.is_extended_id else 0)
        body = struct.pack(">IB3x", identifier, len(frame.data)) + bytes(frame.data).ljust(8, b"\0")
        packets.append((struct.pack(">HHH8sH", 1, 280, 0, bytes(8), 0x000C) if cooked else b"") + body)
    link = 113 if cooked else 227
    if not ng:
        head = struct.pack("<IHHiIII", 0xA1B2C3D4, 2, 4, 0, 0, 65535, link)
        return head + b"".join(
            struct.pack("<IIII", 1700000000, 1000 * k, len(p), len(p)) + p for k, p in enumerate(packets)
        )
    blocks = [(0x0A0D0D0A, struct.pack("<IHHq", 0x1A2B3C4D, 1, 0, -1)), (1, struct.pack("<HHI", link, 0, 65535))]
    for k, p in enumerate(packets):
        t = 1_700_000_000_000_000 + 1000 * k
        padded = p.ljust(-(-len(p) // 4) * 4, b"\0")
        blocks.append((6, struct.pack("<IIIII", 0, t >> 32, t & 0xFFFFFFFF, len(p), len(p)) + padded))
    return b"".join(struct.pack("<II", kind, len(body) + 12) + body + struct.pack("<I", len(body) + 12)
                    for kind, body in blocks)  # fmt: skip


def wav() -> bytes:
    """A short recording of 16 bits, two channels."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(2)
        file.setframerate(10_000)
        file.writeframes(np.arange(-200, 200, dtype="<i2").tobytes())
    return out.getvalue()


def sample(name: str, size: int) -> bytes:
    """The head of a file of ``sample_logs``, whole lines."""
    with gzip.open(ROOT / "sample_logs" / name, "rb") as stream:
        return stream.read(size).rpartition(b"\n")[0] + b"\n"


def real(pattern: str, size: int) -> list[bytes]:
    """Heads of real recordings, none where their folder is not named."""
    named = os.environ.get("LOGAN_CAPTURES")
    out = []
    for path in sorted(Path(named).glob(pattern)) if named else ():
        opened = gzip.open if path.suffix == ".gz" else open
        with opened(path, "rb") as stream:
            out.append(stream.read(size))
    return out


def of_formats() -> dict[str, list[bytes]]:
    """Seeds by the name of the format that reads them."""
    forms = library_forms(talk())
    said = talk()
    return {
        "CAN text log": [LOG, sample("healthy_rail_four.log.gz", 1500), *real("broadcast_petrol/*.log", 600)],
        "CAN text as printed": [CONSOLE],
        "CAN log, ASC text": [forms[".asc"], *real("library_formats/*.asc", 1200)],
        "CAN log, TRC text": [forms[".trc"], *real("library_formats/*.trc", 1500)],
        "CAN log, CSV of python-can": [forms[".csv"]],
        "CAN log, BLF binary": [forms[".blf"], *real("binary_damaged/*.blf", 3000)],
        "CAN log, SQLite data base": [forms[".db"]],
        "CAN log, ASAM MDF 4": [forms[".mf4"]],
        "packet capture": [pcap(said, ng=ng, cooked=cooked) for ng in (False, True) for cooked in (False, True)],
        "table of CAN frames": [FRAME_TABLE, J1939_TABLE, *real("j1939_tractor/*.csv", 900)],
        "serial bus bytes, CSV": [KLINE],
        "serial transcript": [SERIAL, *real("serial_facts/*.txt", 900)],
        "parameter lines": [PID_LINES, *real("logger_text/*", 600)],
        "sensor edges, CSV": [EDGES, sample("healthy_rotary_six.edges.csv.gz", 800)],
        "sensor edges, CSV of level changes": [LEVELS, *real("crank_cam/cranking_*.csv", 500)],
        "sensor waveform, CSV": [SAMPLES, *real("crank_cam/vr_*.csv", 500)],
        "sensor edges, VCD": [VCD],
        "sensor waveform, WAV": [wav()],
        "channel table, CSV": [TABLE, TABLE_COMMA, TABLE_DATE, TABLE_UNIX, *real("drive_tables_?/*.csv", 1500)],
    }


def of_frames() -> list[bytes]:
    """Conversations on a bus as records of ``targets.RECORD``: diagnosis, J1939 transport, broadcasts."""
    said = [
        [(0x7DF, "02010C0000000000"), (0x7E8, "04410C1AF8AAAAAA"), (0x7E0, "0209020000000000"),
         (0x7E8, "10144902015A5A5A"), (0x7E0, "30000A0000000000"), (0x7E8, "215A5A5A5A5A5A5A"),
         (0x7E8, "225A5A5A5A5A5A5A")],
        [(0x7E0, "0322F40C00000000"), (0x7E8, "0562F40C1AF80000"), (0x7E0, "0319020D00000000"),
         (0x7E8, "100B5902FF013300"), (0x7E8, "210D0234000DAAAA"), (0x7E8, "037F2278AAAAAAAA")],
        [(0x9CECFF00, "20130003FFCAFE00"), (0x9CEBFF00, "0140FFD4030901FF"), (0x9CEBFF00, "02900C14FFFFFFFF"),
         (0x9CEBFF00, "03FFFFFFFFFFFFFF"), (0x98FECA00, "40FFD4030901FFFF"), (0x8CF00400, "F07D7D2D1A00F07D")],
        [(0x9CEC00F9, "10130003FFCAFE00"), (0x9CECF900, "110301FFFFCAFE00"), (0x9CEB00F9, "0140FFD4030901FF"),
         (0x9CEB00F9, "02900C14FFFFFFFF"), (0x9CECF900, "110103FFFFCAFE00"), (0x9CEB00F9, "03FFFFFFFFFFFFFF"),
         (0x9CECF900, "13130003FFCAFE00"), (0x9CEC00F9, "10130003FFCAFE00"), (0x9CECF900, "FF01FFFFFFCAFE00")],
        [(0x98FEF100, "F7FFFF0000FF00FF"), (0x98FEEE00, "6E64FFFF1B2BFFFF"), (0x98DAF110, "03410D2A00000000")],
    ]  # fmt: skip
    return [b"".join(struct.pack("<BIB8s", 10, i, 8, bytes.fromhex(d)) for i, d in talk) for talk in said]


def of_payloads() -> list[bytes]:
    """Diagnostic messages as records of ``targets.payloads``: who speaks, how long, what."""
    said = [
        [(0, "010C"), (1, "410C1AF8"), (0, "010C0D05"), (1, "410C1AF80D2A055A"), (0, "0902"),
         (1, "490201" + "5A" * 17)],
        [(0, "03"), (1, "430201330234"), (0, "07"), (1, "4700"), (0, "06" + "01"), (1, "4601018100010000FFFF")],
        [(0, "0101"), (1, "4101830765E5"), (0, "020C00"), (1, "420C001AF8"), (0, "0904"), (1, "490401" + "41" * 16)],
        [(0, "22F40CF40D"), (1, "62F40C1AF8F40D2A"), (0, "22F802"), (1, "62F802" + "5A" * 17), (1, "7F2278")],
        [(0, "19021D"), (1, "5902FF01330008"), (0, "194233081E"), (1, "594233FF1E04200133000C"),
         (0, "1901FF"), (1, "5901FF010003")],
        [(0, "1906013300FF"), (1, "5906013300080102"), (0, "190A"), (1, "590AFF0133000802340009"), (0, "1904013300FF"),
         (1, "59040133000801F40C1AF8"), (0, "1915"), (1, "5915FF01330008"), (0, "22F190"), (1, "62F190" + "5A" * 17),
         (0, "22F802F806F80A"), (1, "62F802" + "5A" * 17 + "F80601" + "5A" * 4), (1, "7F2231")],
        [(0, "1A90"), (1, "5A90" + "5A" * 17), (0, "2101"), (1, "610112345678"),
         (0, "3E00"), (1, "7E00"), (1, "7F1011")],
    ]  # fmt: skip
    return [b"".join(bytes((who, len(d) // 2)) + bytes.fromhex(d) for who, d in talk) for talk in said]


def of_knowledge() -> dict[str, list[bytes]]:
    """Data files that a tradesperson may edit."""
    return {
        "profile TOML": [path.read_bytes() for path in sorted((DATA / "profiles").glob("*.toml"))],
        "fault TOML": [path.read_bytes() for path in sorted((DATA / "faults").glob("*.toml"))[:8]],
        "words TOML": [(DATA / name).read_bytes()[:2500].rpartition(b"\n\n")[0] for name in WORDS],
    }  # fmt: skip
