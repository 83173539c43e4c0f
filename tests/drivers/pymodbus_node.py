#!/usr/bin/python3
"""A press node independent of the project's own: press-map.md, version 1, on pymodbus's frames and messages.

    pymodbus_node.py --port 0 --control-port 0 [--rtu DEVICE] [--seed N] [--auto-hands] [--fault NAME[:MS]]...

Prints one JSON line {"ready": true, "port": P, "control_port": C} and serves until it is ended or its standard input
closes. Demo physics: the dies travel at two speeds and the pressure is a ramp over the last of the gap. The node's time
is its own: when the machine starves this process, the press stands still rather than jump (no samples appear that
nobody could have read).

Control port: one JSON object per line, one JSON line back.
    {"get": true}                                 everything a test may want to know
    {"set": {"guard_closed": false, "both_hands_on": true, "die_tag": 7, "auto_hands": true, ...}}
    {"fault": "silent", "for_ms": 500}            see FAULTS; "ms" and "code" where a fault wants a number
    {"clear_faults": true}    {"reboot": true}    {"forget_writes": true}
    {"begin_bite": true}                          starts a bite with hands on, permit or not (for reading samples)
"""
import argparse
import asyncio
import json
import logging
import os
import random
import sys
import time
import tty

from press_logic import Press
from pymodbus.factory import ServerDecoder
from pymodbus.transaction import ModbusRtuFramer, ModbusSocketFramer

FAULTS = {
    "silent": "takes requests, acts on them, answers nothing",
    "delay": "answers `ms` late",
    "exception": "answers every request with exception `code`",
    "exception_read": "answers function 04 with exception `code`",
    "exception_read_back": "answers function 03 with exception `code`",
    "exception_beat": "answers function 06 with exception `code`",
    "exception_order": "answers function 16 with exception `code`, taking nothing",
    "garble": "flips bits in every answer (seeded)",
    "half": "sends the first half of every answer and nothing more",
    "frozen": "the whole node stands still: beat, phase and samples",
    "frozen_beat": "only the node beat stands still",
    "holes": "loses 30 samples now and then (seeded)",
    "wrong_map": "shows map version 2",
    "drop": "closes every connection once",
    "refuse": "closes every connection and takes none",
}
logging.disable(logging.CRITICAL)  # an exception that a test asked for is no news


class Registers:
    """What pymodbus's requests execute on."""

    def __init__(self, node):
        self.node = node

    def validate(self, function, address, count=1):
        size = {3: 10, 4: 100, 6: 10, 16: 10}.get(function, 0)
        return count >= 1 and 0 <= address and address + count <= size

    def getValues(self, function, address, count=1):  # pylint: disable=invalid-name
        press = self.node.press
        held = press.input_registers(self.node.has("wrong_map")) if function == 4 else press.holding
        return held[address:address + count]

    def setValues(self, _function, address, values):  # pylint: disable=invalid-name
        self.node.press.holding[address:address + len(values)] = values


class Node:
    def __init__(self, seed, auto_hands):
        self.random = random.Random(seed)
        self.press = Press(seed, auto_hands)
        self.press.skip_samples = self.skip_samples
        self.context = Registers(self)
        self.faults = {}
        self.connections = set()
        self.forget_writes()

    def forget_writes(self):
        self.writes, self.functions, self.reads, self.frames = [], {}, {}, []
        self.beat_at = None
        self.beat_longest_ms = 0.0
        self.beats = 0

    # faults

    def has(self, name):
        fault = self.faults.get(name)
        if fault and fault["until"] is not None and time.monotonic() > fault["until"]:
            del self.faults[name]
            fault = None
        return fault

    def start_fault(self, request):
        name = request["fault"]
        if name not in FAULTS:
            raise ValueError(f"unknown fault {name}, one of {', '.join(FAULTS)}")
        for_ms = request.get("for_ms")
        if name == "drop":
            return self.close_all()
        if name == "refuse":
            self.close_all()
        self.faults[name] = {"until": None if for_ms is None else time.monotonic() + for_ms / 1000,
                             "ms": request.get("ms", 80), "code": request.get("code", 4)}

    def close_all(self):
        for transport in list(self.connections):
            transport.abort()

    def skip_samples(self):
        return 30 if self.has("holes") and self.random.random() < 0.01 else 0

    # requests

    def advance(self):
        if self.has("frozen"):
            self.press.last_real_ms = time.monotonic() * 1000
            return
        self.press.beat_frozen = bool(self.has("frozen_beat"))
        self.press.advance(time.monotonic() * 1000)

    def answer(self, request):
        """The response to one request; None for silence."""
        self.advance()
        function = request.function_code
        self.functions[str(function)] = self.functions.get(str(function), 0) + 1
        for name, of in (("exception", None), ("exception_read", 4), ("exception_read_back", 3), ("exception_beat", 6),
                         ("exception_order", 16)):
            fault = self.has(name)
            if fault and of in (None, function):
                return self.finish(request, request.doException(fault["code"]))
        values = [request.value] if function == 6 else list(getattr(request, "values", []))
        if function in (6, 16) and self.context.validate(function, request.address, len(values)):
            wished = list(self.press.holding)
            wished[request.address:request.address + len(values)] = values
            if wished[1] > 5 or (wished[1] == 1 and wished[3] > self.press.maximum_bar * 10):
                return self.finish(request, request.doException(3))
            self.note_write(function, request.address, values)
        if function in (3, 4):
            key = f"{function}:{request.address}:{request.count}"
            self.reads[key] = self.reads.get(key, 0) + 1
        if function not in (3, 4, 6, 16):
            return self.finish(request, request.doException(1))
        return self.finish(request, request.execute(self.context))

    def note_write(self, function, address, values):
        now = time.monotonic()
        if address == 0:
            if self.beat_at is not None and values[0] != self.press.holding[0]:
                self.beat_longest_ms = max(self.beat_longest_ms, (now - self.beat_at) * 1000)
            self.beat_at, self.beats = now, self.beats + 1
            return
        self.writes.append({"function": function, "address": address, "values": values, "at_ms": now * 1000})
        del self.writes[:-200]

    def finish(self, request, response):
        response.transaction_id, response.unit_id = request.transaction_id, request.unit_id
        response.protocol_id = getattr(request, "protocol_id", 0)
        return None if self.has("silent") else response

    # control

    def control(self, request):
        if "set" in request:
            self.advance()
            for name, value in request["set"].items():
                if not hasattr(self.press, name):
                    raise ValueError(f"no such part of the press: {name}")
                setattr(self.press, name, value)
        if "fault" in request:
            self.start_fault(request)
        if request.get("clear_faults"):
            self.faults.clear()
        if request.get("reboot"):
            self.press.reboot()
        if request.get("forget_writes"):
            self.forget_writes()
        if request.get("begin_bite"):
            self.advance()
            self.press.both_hands_on, self.press.auto_hands = True, False
            self.press.begin_bite()
        if not request.get("get"):
            return {"ok": True}
        press = self.press
        running = 0.0 if self.beat_at is None else (time.monotonic() - self.beat_at) * 1000
        return {"ok": True, "phase": press.phase, "fault_code": press.fault_code, "bite_number": press.bite_number,
                "permit_state": press.permit_state, "permit_echo": press.permit_echo, "refusal": press.refusal,
                "sequence": press.sequence, "sample_bite": press.sample_bite, "holding": press.holding,
                "acted": press.acted, "writes": self.writes, "functions": self.functions, "reads": self.reads,
                "beats": self.beats, "beat_longest_ms": max(self.beat_longest_ms, running), "frames": self.frames,
                "connections": len(self.connections), "faults": sorted(self.faults)}


class Connection(asyncio.Protocol):
    """One Modbus connection, TCP or serial: bytes in, bytes out."""

    def __init__(self, node, framer):
        self.node, self.framer = node, framer(ServerDecoder(), client=None)
        self.serial = framer is ModbusRtuFramer
        self.last_bytes_at = 0.0

    def connection_made(self, transport):
        self.transport = transport
        if self.node.has("refuse"):
            transport.abort()
            return
        self.node.connections.add(transport)

    def connection_lost(self, _error):
        self.node.connections.discard(self.transport)

    def data_received(self, data):
        self.node.frames.append(data.hex(" "))
        del self.node.frames[:-20]
        now = time.monotonic()
        if self.serial and now - self.last_bytes_at > 0.02:
            self.framer.resetFrame()  # silence ends a frame
        self.last_bytes_at = now
        try:
            self.framer.processIncomingPacket(data=data, callback=self.execute, unit=[1], single=False)
        except Exception as error:  # pylint: disable=broad-except
            print(f"unreadable request: {error}", file=sys.stderr)
            self.framer.resetFrame()
            if not self.serial:
                self.transport.abort()

    def execute(self, request):
        response = self.node.answer(request)
        if response is None:
            return
        packet = bytearray(self.framer.buildPacket(response))
        if self.node.has("garble"):
            for _ in range(self.node.random.randint(1, 3)):
                packet[self.node.random.randrange(len(packet))] ^= 1 << self.node.random.randrange(8)
        if self.node.has("half"):
            del packet[len(packet) // 2:]
        late = self.node.has("delay")
        if late:
            asyncio.get_running_loop().call_later(late["ms"] / 1000, self.write, packet)
        else:
            self.write(packet)

    def write(self, packet):
        if not self.transport.is_closing():
            self.transport.write(packet)


class SerialTransport:
    """The few calls of a transport that Connection needs, on a terminal's file."""

    def __init__(self, device, protocol):
        self.file = os.open(device, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
        tty.setraw(self.file)
        self.protocol = protocol
        protocol.connection_made(self)
        asyncio.get_running_loop().add_reader(self.file, self.readable)

    def readable(self):
        try:
            data = os.read(self.file, 512)
        except OSError:
            data = b""
        if data:
            self.protocol.data_received(data)
        else:
            asyncio.get_running_loop().remove_reader(self.file)

    def write(self, packet):
        os.write(self.file, packet)

    def is_closing(self):
        return False

    def abort(self):
        """A serial line has no connection to close."""


async def serve(arguments):
    loop = asyncio.get_running_loop()
    node = Node(arguments.seed, arguments.auto_hands)
    for text in arguments.fault:
        name, _, for_ms = text.partition(":")
        node.start_fault({"fault": name, "for_ms": int(for_ms) if for_ms else None})

    async def control(reader, writer):
        while line := await reader.readline():
            try:
                reply = node.control(json.loads(line))
            except (ValueError, KeyError, TypeError) as error:
                reply = {"ok": False, "why": str(error)}
            writer.write(json.dumps(reply).encode() + b"\n")
            await writer.drain()
        writer.close()

    port = 0
    if arguments.rtu:
        SerialTransport(arguments.rtu, Connection(node, ModbusRtuFramer))
    else:
        server = await loop.create_server(lambda: Connection(node, ModbusSocketFramer), "127.0.0.1", arguments.port)
        port = server.sockets[0].getsockname()[1]
    controls = await asyncio.start_server(control, "127.0.0.1", arguments.control_port)
    print(json.dumps({"ready": True, "port": port, "control_port": controls.sockets[0].getsockname()[1]}), flush=True)

    ended = loop.create_future()
    if arguments.end_with_stdin:
        loop.add_reader(sys.stdin, lambda: sys.stdin.buffer.read1(4096) or ended.done() or ended.set_result(None))
    while not ended.done():
        node.advance()
        await asyncio.sleep(0.005)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--port", type=int, default=0, help="TCP port, 0 for any free one")
    parser.add_argument("--control-port", type=int, default=0)
    parser.add_argument("--rtu", metavar="DEVICE", help="serve on this serial device instead of TCP")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--auto-hands", action="store_true", help="press both hands by itself after a permit")
    parser.add_argument("--fault", action="append", default=[], metavar="NAME[:MS]", help=", ".join(FAULTS))
    parser.add_argument("--end-with-stdin", action="store_true", help="end when standard input closes")
    asyncio.run(serve(parser.parse_args()))


if __name__ == "__main__":
    main()
