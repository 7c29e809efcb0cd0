// Model "link-1" (see kernel-link-model.mjs) on the core library of a C++ network simulator: nothing
// but its event queue is used.
// usage: link_ns3 LINKS PACKETS CREDIT_DELAY SCHEDULER; prints one line of JSON.
#include <ctime>
#include <cstdio>
#include <cstdlib>
#include <vector>

#include "ns3/core-module.h"

using namespace ns3;

namespace {
int creditDelay;
long long arrivals = 0;
long packetsArrived = 0;
long acknowledgements = 0;

struct Link {
  int left, headers = 32, data = 256, arrived = 0;
  bool busy = false;
};
std::vector<Link> links;

void wireFree(int);
void arrival(int);
void creditReturn(int);
void acknowledged(int) { acknowledgements++; }

void send(int i) {
  Link& link = links[i];
  if (link.busy || link.left == 0 || link.headers < 1 || link.data < 8) return;
  link.busy = true;
  link.left--;
  link.headers--;
  link.data -= 8;
  Simulator::Schedule(NanoSeconds(148), &wireFree, i);
  Simulator::Schedule(NanoSeconds(198), &arrival, i);
}
void wireFree(int i) {
  links[i].busy = false;
  send(i);
}
void arrival(int i) {
  arrivals += Simulator::Now().GetNanoSeconds() % 1000003;
  packetsArrived++;
  Simulator::Schedule(NanoSeconds(creditDelay), &creditReturn, i);
  if (++links[i].arrived % 4 == 0) Simulator::Schedule(NanoSeconds(58), &acknowledged, i);
}
void creditReturn(int i) {
  links[i].headers++;
  links[i].data += 8;
  send(i);
}
}  // namespace

int main(int, char** argument) {
  const int count = std::atoi(argument[1]);
  creditDelay = std::atoi(argument[3]);
  ObjectFactory scheduler;
  scheduler.SetTypeId(argument[4]);
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
