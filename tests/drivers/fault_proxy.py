#!/usr/bin/python3
"""Stands between a Modbus TCP client and any node and spoils what passes, from a seed.

    fault_proxy.py --target HOST:PORT [--port 0] [--control-port 0] [--seed N] [--rates JSON]

Prints one JSON line {"ready": true, "port": P, "control_port": C}. Control port: one JSON object per line.
    {"fault": NAME, "count": N, "ms": M}   spoils the next N (default 1) answers:
         garble   flips bits of some bytes          half    sends the first half of the answer and nothing more
         delay    holds the answer back M ms         swallow never sends the answer
         twice    sends the answer two times         drop    closes the connection in place of the answer
         dribble  sends the answer byte by byte, M ms apart
    {"refuse": true|false}                 closes and takes no connections until told otherwise
    {"rates": {"garble": 0.01, "half": 0.005, "delay": 0.02, ...}}   seeded faults until told otherwise ({} for none)
    {"get": true}                          {"answers": n, "spoilt": {name: n}, "connections": n}
"""
import argparse
import asyncio
import json
import random
import sys

NAMES = ("garble", "half", "delay", "swallow", "twice", "drop", "dribble")


class Proxy:
    def __init__(self, target, seed, rates):
        self.host, self.port = target.rsplit(":", 1)
        self.random = random.Random(seed)
        self.rates, self.planned, self.refuse = rates, [], False
        self.answers, self.spoilt, self.writers, self.total = 0, {}, set(), 0

    def pick(self):
        """The fault for the answer that passes now, with its milliseconds."""
        if self.planned:
            return self.planned.pop(0)
        for name, rate in self.rates.items():
            if self.random.random() < rate:
                return name, self.random.choice((20, 50, 80, 150))
        return None, 0

    async def client(self, reader, writer):
        if self.refuse:
            writer.transport.abort()
            return
        self.total += 1
        try:
            upstream_reader, upstream_writer = await asyncio.open_connection(self.host, int(self.port))
        except OSError:
            writer.transport.abort()
            return
        self.writers.add(writer)
        requests = asyncio.create_task(self.pass_on(reader, upstream_writer))
        try:
            while header := await upstream_reader.readexactly(6):  # transaction, protocol, length
                answer = header + await upstream_reader.readexactly(int.from_bytes(header[4:6], "big"))
                self.answers += 1
                await self.spoil(answer, writer)
        except (asyncio.IncompleteReadError, OSError):
            pass
        finally:
            requests.cancel()
            self.writers.discard(writer)
            for one in (writer, upstream_writer):
                one.transport.abort()

    @staticmethod
    async def pass_on(reader, writer):
        while (data := await reader.read(512)) and not writer.transport.is_closing():
            writer.write(data)
        writer.transport.abort()

    async def spoil(self, answer, writer):
        name, ms = self.pick()
        if name:
            self.spoilt[name] = self.spoilt.get(name, 0) + 1
        if name == "garble":
            spoilt = bytearray(answer)
            for _ in range(self.random.randint(1, 4)):
                # The first eight bytes are framing and function, which TCP's own checksum would otherwise protect.
                spoilt[self.random.randrange(8)] ^= 1 << self.random.randrange(8)
            answer = bytes(spoilt)
        elif name == "half":
            answer = answer[:len(answer) // 2]
        elif name == "delay":
            await asyncio.sleep(ms / 1000)
        elif name == "swallow":
            return
        elif name == "twice":
            answer += answer
        elif name == "drop":
            raise ConnectionResetError
        elif name == "dribble":
            for byte in answer:
                if writer.transport.is_closing():
                    raise ConnectionResetError
                writer.write(bytes([byte]))
                await asyncio.sleep(ms / 1000)
            return
        if writer.transport.is_closing():
            raise ConnectionResetError
        writer.write(answer)

    def control(self, request):
        if "fault" in request:
            if request["fault"] not in NAMES:
                raise ValueError(f"unknown fault, one of {', '.join(NAMES)}")
            self.planned += [(request["fault"], request.get("ms", 80))] * request.get("count", 1)
        if "rates" in request:
            self.rates = request["rates"]
        if "refuse" in request:
            self.refuse = request["refuse"]
            for writer in list(self.writers) if self.refuse else []:
                writer.transport.abort()
        return {"ok": True, "answers": self.answers, "spoilt": self.spoilt, "connections": self.total}


async def serve(arguments):
    proxy = Proxy(arguments.target, arguments.seed, json.loads(arguments.rates))

    async def control(reader, writer):
        while line := await reader.readline():
            try:
                reply = proxy.control(json.loads(line))
            except (ValueError, KeyError, TypeError) as error:
                reply = {"ok": False, "why": str(error)}
            writer.write(json.dumps(reply).encode() + b"\n")
            await writer.drain()
        writer.close()

    server = await asyncio.start_server(proxy.client, "127.0.0.1", arguments.port)
    controls = await asyncio.start_server(control, "127.0.0.1", arguments.control_port)
    ports = [one.sockets[0].getsockname()[1] for one in (server, controls)]
    print(json.dumps({"ready": True, "port": ports[0], "control_port": ports[1]}), flush=True)
    loop = asyncio.get_running_loop()
    ended = loop.create_future()
    if arguments.end_with_stdin:
        loop.add_reader(sys.stdin, lambda: sys.stdin.buffer.read1(4096) or ended.done() or ended.set_result(None))
    await ended


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--target", required=True, metavar="HOST:PORT")
    parser.add_argument("--port", type=int, default=0)
    parser.add_argument("--control-port", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rates", default="{}", help="JSON object of fault name to probability per answer")
    parser.add_argument("--end-with-stdin", action="store_true", help="end when standard input closes")
    asyncio.run(serve(parser.parse_args()))


if __name__ == "__main__":
    main()
