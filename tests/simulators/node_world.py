"""What the node's tests with independent clients stand on: a simulated press as a child process, its bench over HTTP,
and a Modbus client made of pymodbus's messages and framers (pymodbus's own clients want packages that Debian does not
install with it)."""
import json
import os
import select
import signal
import socket
import subprocess
import time
import tty
import urllib.error
import urllib.request

from pymodbus.factory import ClientDecoder
from pymodbus.pdu import ExceptionResponse
from pymodbus.register_read_message import ReadHoldingRegistersRequest, ReadInputRegistersRequest
from pymodbus.register_write_message import WriteMultipleRegistersRequest, WriteSingleRegisterRequest
from pymodbus.transaction import ModbusRtuFramer, ModbusSocketFramer

PHASES = ["stopped", "open", "permitted", "closing", "holding", "opening", "faulted"]
PERMIT, WITHDRAW, OPEN_DIES, CLEAR_FAULT, ZERO_PRESSURE = 1, 2, 3, 4, 5


class Silence(Exception):
    """No answer, or none that is Modbus."""


class ModbusException(Exception):
    def __init__(self, code):
        super().__init__(f"exception {code:02x}")
        self.code = code


class Modbus:
    """One master. Give it a socket or an open serial descriptor."""

    def __init__(self, transport, rtu=False, timeout_s=2.0):
        self.transport, self.rtu, self.timeout_s = transport, rtu, timeout_s
        self.framer = (ModbusRtuFramer if rtu else ModbusSocketFramer)(ClientDecoder())
        self.transaction = 0

    @classmethod
    def tcp(cls, port, timeout_s=2.0):
        return cls(socket.create_connection(("127.0.0.1", port), timeout=2), timeout_s=timeout_s)

    @classmethod
    def serial(cls, device, timeout_s=2.0):
        descriptor = os.open(device, os.O_RDWR | os.O_NOCTTY)
        tty.setraw(descriptor)
        return cls(descriptor, rtu=True, timeout_s=timeout_s)

    def close(self):
        os.close(self.transport) if self.rtu else self.transport.close()

    def send(self, data):
        if self.rtu:
            os.write(self.transport, data)
        else:
            self.transport.sendall(data)

    def receive(self, timeout_s):
        readable, _, _ = select.select([self.transport], [], [], timeout_s)
        if not readable:
            raise Silence("no answer")
        data = os.read(self.transport, 512) if self.rtu else self.transport.recv(512)
        if not data:
            raise Silence("closed")
        return data

    def ask(self, request, unit=1):
        self.transaction = (self.transaction + 1) & 0xFFFF
        request.unit_id, request.transaction_id = unit, self.transaction
        self.send(self.framer.buildPacket(request))
        answers = []
        until = time.monotonic() + self.timeout_s
        while not answers:
            left = until - time.monotonic()
            if left <= 0:
                raise Silence("no answer that is Modbus")
            self.framer.processIncomingPacket(self.receive(left), answers.append, unit)
        answer = answers[0]
        if isinstance(answer, ExceptionResponse):
            raise ModbusException(answer.exception_code)
        if not self.rtu and answer.transaction_id != self.transaction:
            raise Silence("answer to another request")
        return answer

    def inputs(self, address=0, count=100, unit=1):
        return self.ask(ReadInputRegistersRequest(address, count, unit=unit), unit).registers

    def holding(self, address=0, count=10, unit=1):
        return self.ask(ReadHoldingRegistersRequest(address, count, unit=unit), unit).registers

    def write(self, address, values, unit=1):
        return self.ask(WriteMultipleRegistersRequest(address, values, unit=unit), unit)

    def write_one(self, address, value, unit=1):
        return self.ask(WriteSingleRegisterRequest(address, value, unit=unit), unit)


class Sim:
    """The simulated press; use as a context, so that it never outlives its test."""

    def __init__(self, binary, *options):
        self.process = subprocess.Popen(
            [binary, "press-sim", "--listen", "127.0.0.1:0", "--bench", "127.0.0.1:0", *options],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.line = self.process.stdout.readline().strip()
        if not self.line.startswith("press-sim ready: modbus 127.0.0.1:"):
            self.process.kill()
            raise RuntimeError(f"no start line but {self.line!r}: {self.process.stderr.read()}")
        words = self.line.replace(",", " ").split()
        self.port = int(words[3].rsplit(":", 1)[1])
        self.bench_port = int(words[5].rsplit(":", 1)[1])
        self.master = Modbus.tcp(self.port)
        self.token = 0
        self.beat = 0

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.master.close()
        self.end()

    def end(self, with_signal=signal.SIGTERM):
        if self.process.poll() is None:
            self.process.send_signal(with_signal)
            try:
                self.process.wait(5)
            except subprocess.TimeoutExpired:
                self.process.kill()
                self.process.wait()
                raise
        self.process.stdout.close()
        self.process.stderr.close()
        return self.process.returncode

    def http(self, path, body=None, content_type="application/json", headers=()):
        data = None if body is None else body if isinstance(body, bytes) else json.dumps(body).encode()
        request = urllib.request.Request(f"http://127.0.0.1:{self.bench_port}{path}", data,
                                         {"Content-Type": content_type, **dict(headers)})
        try:
            with urllib.request.urlopen(request, timeout=5) as answer:
                return answer.status, answer.read()
        except urllib.error.HTTPError as error:
            with error:
                return error.code, error.read()

    def bench(self, act=None, body=None):
        status, text = self.http("/bench" if act is None else "/bench/" + act, None if act is None else body or {})
        if status != 200:
            raise AssertionError(f"bench {act}: {status} {text!r}")
        return json.loads(text)

    def order(self, kind, target=1300, limit=1500, dwell=500, closed_gap=50, timeout=30000, life=60000, die_tag=105,
              master=None):
        self.token = self.token % 65535 + 1
        (master or self.master).write(1, [kind, self.token, target, limit, dwell, closed_gap, timeout, life, die_tag])
        return self.token

    def keep_beating(self, master=None):
        self.beat = (self.beat + 1) & 0xFFFF
        (master or self.master).write_one(0, self.beat)

    def part_in_the_dies(self, recipe="straight-shank-3-16-7x19", edge="1.5 mm"):
        """A marked, roped part, measured and lying in its dies."""
        self.bench("die", {"tag": 105})
        self.bench("part", {"recipe": recipe})
        depth = self.bench("measure", {"kind": "bore_depth", "gauge": "depth-rod-1"})["values"][0]
        self.bench("mark", {"which": "depth", "aimed": depth})
        self.bench("mark", {"which": "boundary", "aimed": depth})
        self.bench("insert", {"short_by": "0 mm"})
        self.bench("position", {"edge": edge})
        time.sleep(0.05)  # a few node cycles: the sensors see it

    def run_bite(self, until=lambda image: image[2] in (1, 6), scan_s=0.01, seconds=40):
        """Beats and reads at the station's pace; returns the newest image and every sample as [time, pressure, gap],
        with how many are missing. `slowest_read_s` is then the longest time that may have passed between two images:
        the map promises no hole up to 40 ms."""
        rows, missing, next_sequence, image = [], 0, 0, None
        self.slowest_read_s, asked = 0, None
        end = time.monotonic() + seconds
        moved = False
        while time.monotonic() < end:
            asked_before, asked = asked, time.monotonic()
            image = self.master.inputs()
            if asked_before is not None and moved:
                self.slowest_read_s = max(self.slowest_read_s, time.monotonic() - asked_before)
            self.keep_beating()
            if image[2] in (3, 4, 5, 6):
                moved = True
            if moved:
                count = image[20]
                for i in range(count):
                    sequence = (image[19] - (count - 1 - i)) & 0xFFFF
                    ahead = (sequence - next_sequence) & 0xFFFF
                    if ahead >= 0x8000:
                        continue
                    missing += ahead
                    rows.append(image[25 + 3 * i:28 + 3 * i])
                    next_sequence = (sequence + 1) & 0xFFFF
                if until(image):
                    return image, rows, missing
            time.sleep(scan_s)
        raise AssertionError(f"the bite did not end: {image[:25]}")
