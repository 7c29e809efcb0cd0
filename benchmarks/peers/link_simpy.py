"""Model "link-1" (see kernel-link-model.mjs) on a Python process simulator, events by callback.

usage: link_simpy.py LINKS PACKETS CREDIT_DELAY; prints one line of JSON.
"""
import json
import sys
import time

import simpy

LINKS, PACKETS, CREDIT_DELAY = map(int, sys.argv[1:4])
WIRE, FLIGHT, ACK, UNITS = 148, 50, 58, 8


class Link:
    def __init__(self, env, totals):
        self.env, self.totals = env, totals
        self.left, self.headers, self.data = PACKETS, 32, 256
        self.busy, self.arrived = False, 0
        self.send()

    def after(self, delay, then):
        self.env.timeout(delay).callbacks.append(then)

    def send(self):
        if self.busy or self.left == 0 or self.headers < 1 or self.data < UNITS:
            return
        self.busy = True
        self.left -= 1
        self.headers -= 1
        self.data -= UNITS
        self.after(WIRE, self.wire_free)
        self.after(WIRE + FLIGHT, self.arrival)

    def wire_free(self, _event):
        self.busy = False
        self.send()

    def arrival(self, _event):
        self.totals["arrivals"] += self.env.now % 1000003
        self.totals["packets"] += 1
        self.after(CREDIT_DELAY, self.credit_return)
        self.arrived += 1
        if self.arrived % 4 == 0:
            self.after(ACK, self.acknowledged)

    def credit_return(self, _event):
        self.headers += 1
        self.data += UNITS
        self.send()

    def acknowledged(self, _event):
        pass


env = simpy.Environment()
totals = {"arrivals": 0, "packets": 0}
links = [Link(env, totals) for _ in range(LINKS)]
start = time.process_time()
env.run()
totals["seconds"] = time.process_time() - start
totals["last"] = env.now
print(json.dumps(totals))
