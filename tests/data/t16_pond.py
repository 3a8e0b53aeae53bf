"""16. Sixty days of open water: volume, salt and temperature of a pond as three ordinary differential equations, the surface following
the level all the time; and the same in steps of an hour and of half an hour, to tell what steps do: surface and exchange of their start,
what evaporates taken out and the exchange of heat brought in at their end."""
import numpy as np
from scipy.integrate import solve_ivp
from common import write, ver

DAYS, HOUR = 60, 3600.0
CAPACITY, DEPTH, START = 600e3, 2.5, 450e3                 # L, m, L
FACTOR, SEEPAGE = 1.05, 3.0                                # of the reference; mm/d over the surface
LAND, CN, LAND_SALT = 2000.0, 80.0, 150.0                  # m2, curve number, mg/L of its runoff
SALT, TEMP = 500.0, 12.0                                   # at the start
HEAT, ABSORBS = 4.19e6, 0.94                               # J/(m3 K), part of the sun taken in

def weather(h):
    """air C, dew point C, wind m/s at 2 m, sun W/m2, cloud, rain mm, reference evaporation mm of hour h; no function but these four
    operations"""
    d, k = divmod(h, 24)
    sun = max(0.0, 1 - ((k - 11.5) / 7.0) ** 2) * (350 + 90 * (d * 7 % 6))
    air = 8 + 0.15 * d + 6 * (1 - abs(k - 15) / 9.0) + (d * 5 % 7 - 3)
    rain = (2.0, 9.0)[d % 14 // 7] if d % 7 == 3 and 8 <= k < 14 else 0.0
    return air, 4 + 0.15 * d + 0.5 * (d * 3 % 5), 1 + 0.25 * (k % 12), sun, d * 3 % 8 / 10, rain, 0.03 + 0.0007 * sun

def pump(h):
    d, k = divmod(h, 24)
    return 0.3 if d % 5 == 2 and 6 <= k < 18 else 0.0      # L/s

def runoff():
    """mm off the land in each hour: differences of the curve number's sum over a rain; six hours of it, six days apart"""
    s = 25400 / CN - 254
    q = lambda p: (p - 0.2 * s) ** 2 / (p + 0.8 * s) if p > 0.2 * s else 0.0
    out, sofar, dry = [], 0.0, 99
    for h in range(24 * DAYS):
        rain = weather(h)[5]
        dry = 0 if rain else dry + 1
        if dry >= 12: sofar = 0.0
        out.append(q(sofar + rain) - q(sofar)); sofar += rain
    return out
RUNS = runoff()

SIGMA, EMITS, KELVIN = 5.670374e-8, 0.97, 273.15
MMHG = 101.325 / 760                                       # kPa
pressure = lambda t: 0.6108 * np.exp(17.27 * t / (t + 237.3))

def gains(t, air, dew, wind, sun, cloud):
    """W/m2 into water at t: sun, long waves (Brutsaert's clear sky, cloud by Unsworth and Monteith), evaporation, conduction"""
    e = pressure(dew)
    sky = min(1.0, (1 - 0.84 * cloud) * 1.24 * (10 * e / (air + KELVIN)) ** (1 / 7) + 0.84 * cloud)
    f = 9.2 + 0.46 * (1.2630 * wind) ** 2
    return (ABSORBS * sun + EMITS * SIGMA * (sky * (air + KELVIN) ** 4 - (t + KELVIN) ** 4)
            - f * ((pressure(t) - e) / MMHG + 0.47 * (t - air)))

def exchange(t, *of):
    """W/(m2 K): the slope of the gains, by a central difference"""
    return (gains(t - 1e-3, *of) - gains(t + 1e-3, *of)) / 2e-3

def surface(v, m):
    return m * CAPACITY * 1e-3 / DEPTH * (v / CAPACITY) ** (1 - 1 / m)

def rates(h, m):
    """of hour h: those of V (L), S (mg) and T (C); with an area given it is held, and nothing evaporates or is warmed"""
    air, dew, wind, sun, cloud, rain, et = weather(h)
    falls, runs, q = rain * surface(CAPACITY, m) / HOUR, RUNS[h] * LAND / HOUR, pump(h)
    def f(t, y, area=None):
        v, s, temp = y
        a = surface(v, m) if area is None else area
        evaporates, seeps = FACTOR * et * a / HOUR if area is None else 0.0, SEEPAGE * a / 86400
        dv = falls + runs - evaporates - seeps - q
        ds = runs * LAND_SALT - (seeps + q) * s / v
        dt = (falls + runs) / v * (max(air, 0.0) - temp)
        if area is None:
            dt += gains(temp, air, dew, wind, sun, cloud) * a / (HEAT * v * 1e-3)
        return [dv, ds, dt]
    return f

def whole(m, parts=None):
    """[V, S, T] at the end of every day; with `parts`, in so many steps an hour"""
    y, out = np.array([START, START * SALT, TEMP]), []
    for h in range(24 * DAYS):
        f = rates(h, m)
        if parts is None:
            y = solve_ivp(f, (0, HOUR), y, method="DOP853", rtol=1e-12, atol=1e-9).y[:, -1]
        else:
            air, dew, wind, sun, cloud, _, et = weather(h)
            for _ in range(parts):
                area = surface(y[0], m)
                y = solve_ivp(lambda t, y: f(t, y, area), (0, HOUR / parts), y, method="DOP853", rtol=1e-12, atol=1e-9).y[:, -1]
                y[0] -= FACTOR * et * area / parts
                k = exchange(y[2], air, dew, wind, sun, cloud)
                goes_to = y[2] + gains(y[2], air, dew, wind, sun, cloud) / k
                y[2] = goes_to + (y[2] - goes_to) * np.exp(-k * HOUR / parts / (HEAT * y[0] * 1e-3 / surface(y[0], m)))
        assert 0.05 * CAPACITY < y[0] < 0.95 * CAPACITY, y
        if h % 24 == 23: out.append(y.copy())
    return np.array(out)

rows, said = [], []
for m in (1.0, 2.5):
    true, held, half = whole(m), whole(m, 1), whole(m, 2)
    for d, (v, s, t) in enumerate(true):
        rows.append([m, d + 1, v, s / v, t])
    for part, of in (("hour", held), ("half", half)):
        c = lambda y: y[:, 1] / y[:, 0]
        off = [np.abs(of[:, 0] - true[:, 0]).max(), np.abs(c(of) - c(true)).max(), np.abs(of[:, 2] - true[:, 2]).max()]
        said += [f"{part}_{name}_{m}={x:.3g}" for name, x in zip(("l", "mg_l", "c"), off)]
write("16_pond", ["shape", "day", "volume_l", "salt_mg_l", "temp_c"], rows,
      [ver("scipy", "numpy") + " | solve_ivp DOP853 rtol 1e-12, hour by hour; end of each day",
       f"constants: {CAPACITY=} L {DEPTH=} m {START=} L {FACTOR=} {SEEPAGE=} mm/d {LAND=} m2 {CN=} {LAND_SALT=} mg/L {SALT=} mg/L {TEMP=} C {HEAT=} J/(m3 K) {ABSORBS=}; "
       "weather and pumping: the functions of the script",
       "in steps of an hour, and of half of one, the largest difference: " + " ".join(said)], show=200, sig=12)
