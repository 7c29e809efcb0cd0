// Model "link-1" (see kernel-link-model.mjs) on the core library of a C++ network simulator:
// its event queue and, with "mixed", its random variable, which draws sizes and delays as mixedLinks
// does. With "bare" they come from three shifts of one word and a product, compiled in place: what
// a user would write who wants no streams. usage: link_ns3 LINKS PACKETS CREDIT_DELAY
// constant|mixed|bare SCHEDULER; prints one line of JSON.
#include <ctime>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <cstdint>
#include <vector>

#include "ns3/core-module.h"

using namespace ns3;

namespace {
int creditDelay;
long long arrivals = 0;
long packetsArrived = 0;
long acknowledgements = 0;

bool mixed = false;
bool bare = false;
Ptr<UniformRandomVariable> uniform;

struct Link {
  int left, headers = 32, data = 256, arrived = 0, next = 8;
  bool busy = false;
};
std::vector<Link> links;

void wireFree(int);
void arrival(int);
void creditReturn(int);

std::uint64_t state = 88172645463325252ull;
int draw(int low, int high) {
  if (!bare) return int(uniform->GetInteger(low, high));
  state ^= state << 13;
  state ^= state >> 7;
  state ^= state << 17;
  return low + int((state >> 32) * (high - low + 1) >> 32);
}
void acknowledged(int) { acknowledgements++; }

void send(int i) {
  Link& link = links[i];
  const int units = link.next;
  if (link.busy || link.left == 0 || link.headers < 1 || link.data < units) return;
  link.busy = true;
  link.left--;
  link.headers--;
  link.data -= units;
  const int wire = 16 * units + 20;
  const int flight = mixed ? wire + 50 + draw(0, 200) : wire + 50;
  Simulator::Schedule(NanoSeconds(wire), &wireFree, i);
  Simulator::Schedule(NanoSeconds(flight), &arrival, i * 16 + units);
  if (mixed) link.next = 1 << draw(0, 3);
}
void wireFree(int i) {
  links[i].busy = false;
  send(i);
}
void arrival(int packet) {
  const int i = packet >> 4;
  arrivals += Simulator::Now().GetNanoSeconds() % 1000003;
  packetsArrived++;
  const int low = creditDelay / 2;
  const int delay = mixed ? draw(low, low + creditDelay) : creditDelay;
  Simulator::Schedule(NanoSeconds(delay), &creditReturn, packet);
  if (++links[i].arrived % 4 == 0) Simulator::Schedule(NanoSeconds(58), &acknowledged, i);
}
void creditReturn(int packet) {
  const int i = packet >> 4;
  links[i].headers++;
  links[i].data += packet & 15;
  send(i);
}
}  // namespace

int main(int, char** argument) {
  const int count = std::atoi(argument[1]);
  creditDelay = std::atoi(argument[3]);
  ObjectFactory scheduler;
  bare = std::strcmp(argument[4], "bare") == 0;
  mixed = bare || std::strcmp(argument[4], "mixed") == 0;
  uniform = CreateObject<UniformRandomVariable>();
  scheduler.SetTypeId(argument[5]);
  Simulator::SetScheduler(scheduler);
  links.resize(count);
  for (int i = 0; i < count; i++) {
    links[i].left = std::atoi(argument[2]);
    Simulator::Schedule(NanoSeconds(0), &send, i);
  }
  const std::clock_t start = std::clock();
  Simulator::Run();
  const double seconds = double(std::clock() - start) / CLOCKS_PER_SEC;
  std::printf("{\"arrivals\":%lld,\"packets\":%ld,\"seconds\":%.6f,\"last\":%lld}\n", arrivals,
              packetsArrived, seconds, (long long)Simulator::Now().GetNanoSeconds());
  Simulator::Destroy();
}
