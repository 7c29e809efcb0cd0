# Made networks.json beside it: random networks, worked by a general-purpose library (scikit-rf 0.15.4,
# with numpy 1.24). Run: python3 networks.py > networks.json
import json, sys
import numpy as np
np.complex = complex; np.float = float; np.int = int; np.bool = bool
import skrf as rf
rng = np.random.default_rng(7)
f = rf.Frequency(1, 8, 8, unit='ghz')
def random_net(n, z0):
    s = (rng.normal(size=(8, n, n)) + 1j * rng.normal(size=(8, n, n))) / (2.5 * n)
    return rf.Network(frequency=f, s=s, z0=z0)
out = {'library': 'scikit-rf ' + rf.__version__, 'networks': []}
def pack(m): return {'real': np.real(m).tolist(), 'imaginary': np.imag(m).tolist()}
for n, z0, new in [(2, 50, [75, 40]), (4, 50, [42.5, 50, 50, 60]), (4, [40, 45, 50, 55], [50, 50, 50, 50])]:
    net = random_net(n, z0)
    at = net.interpolate(rf.Frequency(2.5, 2.5, 1, unit='ghz'))
    re = at.copy(); re.renormalize(new)
    item = {'ports': n, 'reference': np.real(net.z0[0]).tolist(), 'to': new, 's': pack(net.s), 'at': pack(at.s[0]), 'renormalised': pack(re.s[0])}
    if n == 2:
        item['z'] = pack(net.z[0]); item['y'] = pack(net.y[0]); item['first'] = pack(net.s[0])
    if n == 4 and z0 == 50:
        mm = at.copy(); mm.renumber([0, 1, 2, 3], [0, 2, 1, 3]); mm.se2gmm(p=2)
        item['differential'] = pack(mm.s[0][:2, :2])
    out['networks'].append(item)
json.dump(out, sys.stdout)
