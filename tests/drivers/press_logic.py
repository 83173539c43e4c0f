"""The logic of the press node in pymodbus_node.py: press-map.md, version 1, with demo physics. Knows nothing of Modbus."""
import random

STOPPED, OPEN, PERMITTED, CLOSING, HOLDING, OPENING, FAULTED = range(7)
STEP_MS, CYCLE_MS = 2, 10
SAMPLES_HELD = 25


class Press:
    """The press in steps of 2 ms and cycles of 10 ms."""

    def __init__(self, seed, auto_hands):
        # Demo physics, open to {"set": ...}: the pressure climbs from contact on; when the faces meet it runs up.
        self.open_gap_mm, self.contact_gap_mm = 12.0, 1.2
        self.approach_mm_per_s, self.squeeze_mm_per_s = 60.0, 3.0
        self.contact_bar, self.ramp_bar_per_mm = 12.0, 220.0
        self.maximum_bar = 400.0
        self.random = random.Random(seed)
        self.auto_hands = auto_hands
        self.emergency_healthy = self.guard_closed = self.remote_selected = True
        self.both_hands_on = False
        self.shank_present = self.mark_seen = True
        self.mark_sensor_fitted = self.angle_encoder_fitted = self.position_sensor_fitted = True
        self.die_tag, self.angle, self.edge_distance_mm = 101, 0.0, 2.0
        self.oil_temperature_c, self.stroke_total = 38.5, 70000
        self.beat_frozen = False
        self.skip_samples = lambda: 0
        self.reboot()

    def reboot(self):
        self.holding = [0] * 10
        self.beat = self.random.randrange(65536)
        self.phase, self.fault_code, self.gap_mm, self.pressure_bar = OPEN, 0, self.open_gap_mm, 0.0
        self.permit_echo = self.permit_state = self.refusal = 0
        self.bite_number, self.peak_bar, self.dwell_done_ms, self.least_gap_mm = 0, 0.0, 0, 65.535
        self.sequence, self.samples, self.sample_bite = -1, [], 0
        self.taken = None
        self.last_token = 0
        self.time_ms = self.last_real_ms = 0.0
        self.beat_seen, self.beat_seen_at_ms = 0, 0.0
        self.permit_at_ms = self.bite_at_ms = self.hands_at_ms = 0.0
        self.cycles_done = self.steps_done = 0
        self.acted = []
        self.last_real_ms = None

    # time

    def advance(self, real_ms):
        if self.last_real_ms is None:
            self.last_real_ms = real_ms
        self.time_ms += min(real_ms - self.last_real_ms, 20.0)
        self.last_real_ms = real_ms
        while (self.steps_done + 1) * STEP_MS <= self.time_ms:
            self.steps_done += 1
            if self.steps_done * STEP_MS % CYCLE_MS == 0:
                self.cycle()
            self.step()

    def cycle(self):
        if not self.beat_frozen:
            self.beat = (self.beat + 1) & 0xFFFF
        if self.holding[0] != self.beat_seen:
            self.beat_seen, self.beat_seen_at_ms = self.holding[0], self.now()
        token = self.holding[2]
        if token != self.last_token:
            self.last_token = token
            if token != 0:
                self.act(self.holding[1], token)
        busy = self.phase in (PERMITTED, CLOSING, HOLDING)
        if busy and self.now() - self.beat_seen_at_ms > 250:
            self.end_permit(4)
            self.raise_fault(5)
        if self.phase == PERMITTED and self.now() - self.permit_at_ms > self.taken["life_ms"]:
            self.end_permit(5)
            self.phase = OPEN
        if self.auto_hands:
            if self.phase == PERMITTED and self.now() >= self.hands_at_ms:
                self.both_hands_on = True
            elif self.phase in (OPEN, OPENING, FAULTED):
                self.both_hands_on = False

    def now(self):
        return float(self.steps_done * STEP_MS)

    # orders

    def act(self, order, token):
        self.acted.append({"order": order, "token": token, "at_ms": self.now(), "registers": self.holding[1:10]})
        del self.acted[:-50]
        if order == 1:
            self.permit_echo = token
            self.refusal = self.why_refused()
            self.permit_state = 2 if self.refusal else 1
            if not self.refusal:
                self.phase, self.permit_at_ms = PERMITTED, self.now()
                self.hands_at_ms = self.now() + self.random.uniform(50, 300)
                self.beat_seen_at_ms = self.now()
                self.taken = {"target": self.holding[3] / 10, "limit": self.holding[4] / 10, "dwell_ms": self.holding[5],
                              "closed_gap": self.holding[6] / 1000, "timeout_ms": self.holding[7], "life_ms": self.holding[8]}
        elif order in (2, 3):
            if self.phase == PERMITTED:
                self.end_permit(4)
                self.phase = OPEN
            elif self.phase in (CLOSING, HOLDING):
                self.end_permit(4)
                self.phase = OPENING
        elif order == 4 and self.phase == FAULTED and self.emergency_healthy:
            self.phase, self.fault_code = OPEN, 0

    def why_refused(self):
        if self.fault_code:
            return 5
        if self.phase != OPEN:
            return 1
        if not self.emergency_healthy:
            return 2
        if not self.guard_closed:
            return 3
        if not self.remote_selected:
            return 4
        if self.holding[9] != self.die_tag:
            return 6
        if not 0 < self.holding[3] <= self.holding[4] or self.holding[4] > self.maximum_bar * 10:
            return 7
        return 0

    def end_permit(self, state):
        if self.permit_state == 1:
            self.permit_state = state

    def raise_fault(self, code):
        if self.fault_code == 0:
            self.fault_code = code
        if self.phase in (CLOSING, HOLDING):
            self.phase = OPENING
        elif self.phase != OPENING:
            self.phase = FAULTED

    # motion

    def begin_bite(self):
        self.phase, self.bite_at_ms = CLOSING, self.now()
        self.sample_bite = (self.bite_number + 1) & 0xFFFF
        self.sequence, self.samples = -1, []
        self.peak_bar, self.dwell_done_ms, self.least_gap_mm = 0.0, 0, self.open_gap_mm
        self.stroke_total += 1
        if self.taken is None:
            self.taken = {"target": 300.0, "limit": 380.0, "dwell_ms": 100, "closed_gap": 0.05, "timeout_ms": 9000, "life_ms": 9000}

    def finish_bite(self):
        self.gap_mm, self.pressure_bar = self.open_gap_mm, 0.0
        self.bite_number = (self.bite_number + 1) & 0xFFFF
        self.end_permit(3)
        self.taken = None
        self.phase = FAULTED if self.fault_code else OPEN

    def step(self):
        if self.phase == PERMITTED:
            if not self.emergency_healthy or not self.guard_closed:
                self.end_permit(4)
                self.raise_fault(1 if not self.emergency_healthy else 2)
            elif self.both_hands_on:
                self.begin_bite()
        moving = self.phase in (CLOSING, HOLDING, OPENING)
        if not moving:
            return
        seconds = STEP_MS / 1000
        if self.phase == CLOSING:
            fast = self.gap_mm > self.contact_gap_mm
            self.gap_mm = max(0.0, self.gap_mm - seconds * (self.approach_mm_per_s if fast else self.squeeze_mm_per_s))
            pressed_mm = 0.0 if fast else self.contact_gap_mm - self.gap_mm
            self.pressure_bar = self.contact_bar + pressed_mm * self.ramp_bar_per_mm
            if self.gap_mm == 0.0:  # faces meet: the pressure runs up at once
                self.pressure_bar = max(self.pressure_bar, self.taken["target"])
            if not self.both_hands_on:
                self.raise_fault(3)
            elif self.pressure_bar > self.taken["limit"]:
                self.raise_fault(4)
            elif self.now() - self.bite_at_ms > self.taken["timeout_ms"]:
                self.raise_fault(6)
            elif self.pressure_bar >= self.taken["target"]:
                self.phase = HOLDING
        elif self.phase == HOLDING:
            self.dwell_done_ms += STEP_MS
            if self.dwell_done_ms >= self.taken["dwell_ms"]:
                self.phase = OPENING
        elif self.phase == OPENING:
            self.pressure_bar = max(0.0, self.pressure_bar - 20.0)
            self.gap_mm += seconds * self.approach_mm_per_s
        if self.phase in (CLOSING, HOLDING):
            if not self.emergency_healthy:
                self.raise_fault(1)
            elif not self.guard_closed:
                self.raise_fault(2)
        self.peak_bar = max(self.peak_bar, self.pressure_bar)
        self.least_gap_mm = min(self.least_gap_mm, self.gap_mm)
        home = self.phase == OPENING and self.gap_mm >= self.open_gap_mm
        self.keep_sample()
        if home:
            self.finish_bite()

    def keep_sample(self):
        self.sequence += 1
        skipped = self.skip_samples()
        if skipped:
            self.sequence += skipped
            self.bite_at_ms -= skipped * STEP_MS
        self.samples.append((int(self.now() - self.bite_at_ms) & 0xFFFF, round(self.pressure_bar * 10),
                             min(65535, round(self.gap_mm * 1000))))
        del self.samples[:-SAMPLES_HELD]

    # registers

    def input_registers(self, wrong_map):
        bits = [self.emergency_healthy, self.guard_closed, self.both_hands_on, self.phase in (CLOSING, HOLDING, OPENING),
                self.gap_mm >= self.open_gap_mm, self.gap_mm <= 0.05, self.shank_present, self.mark_seen,
                self.remote_selected, self.mark_sensor_fitted, self.angle_encoder_fitted, self.position_sensor_fitted]
        registers = [0] * 100
        registers[0:23] = [
            2 if wrong_map else 1, self.beat, self.phase, self.fault_code, sum(1 << i for i, bit in enumerate(bits) if bit),
            self.die_tag, round(self.angle * 10) % 3600, round(self.oil_temperature_c * 10) & 0xFFFF,
            round(self.pressure_bar * 10), min(65535, round(self.gap_mm * 1000)), round(self.edge_distance_mm * 100) & 0xFFFF,
            self.permit_echo, self.permit_state, self.bite_number, self.stroke_total >> 16, self.stroke_total & 0xFFFF,
            round(self.peak_bar * 10), min(65535, self.dwell_done_ms), min(65535, round(self.least_gap_mm * 1000)),
            max(0, self.sequence) & 0xFFFF, len(self.samples), self.sample_bite, self.refusal]
        for i, sample in enumerate(self.samples):
            registers[25 + 3 * i:28 + 3 * i] = sample
        return registers
