#!/usr/bin/python3
"""An outside calculation of the cranking compression test, to check `crosshatch predict` against.

Purpose: the same physical model as the C program, computed by another hand, in another language, with another integrator
(LSODA or Radau of SciPy), from the model's equations and not from the program's source. README.md in this folder
lists the equations, their published sources and how each open point of the model was read.

usage: cranking_oracle.py [--method LSODA|Radau|BDF|RK4] [--rtol R] [--selfcheck] SHEET...
       cranking_oracle.py --store FOLDER          (writes NAME.json beside each NAME.yaml)
       cranking_oracle.py --compare METHOD FOLDER (second integrator against the stored results)

The right-hand side uses scalar `math` functions only: numpy costs ten times as much on single numbers.
"""

import argparse
import copy
import glob
import json
import math
import os
import re
import sys
import time

import yaml
from scipy.integrate import solve_ivp

# --- quantities -----------------------------------------------------------------------------------------------------

# unit -> (dimension, factor to SI, offset added after the factor)
UNITS = {
    "m": ("length", 1.0, 0.0), "mm": ("length", 1e-3, 0.0), "cm": ("length", 1e-2, 0.0), "km": ("length", 1e3, 0.0),
    "in": ("length", 0.0254, 0.0), "ft": ("length", 0.3048, 0.0),
    "mm2": ("area", 1e-6, 0.0), "cm2": ("area", 1e-4, 0.0), "m2": ("area", 1.0, 0.0),
    "ml": ("volume", 1e-6, 0.0), "cc": ("volume", 1e-6, 0.0), "cm3": ("volume", 1e-6, 0.0), "l": ("volume", 1e-3, 0.0),
    "Pa": ("pressure", 1.0, 0.0), "hPa": ("pressure", 1e2, 0.0), "mbar": ("pressure", 1e2, 0.0),
    "kPa": ("pressure", 1e3, 0.0), "bar": ("pressure", 1e5, 0.0),
    "psi": ("pressure", 0.45359237 * 9.80665 / 0.0254**2, 0.0),
    "K": ("temperature", 1.0, 0.0), "C": ("temperature", 1.0, 273.15),
    "F": ("temperature", 1.0 / 1.8, 273.15 - 32.0 / 1.8),
    "rpm": ("speed", math.pi / 30.0, 0.0), "deg": ("angle", 1.0, 0.0),
}
QUANTITY = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([A-Za-z]+[23]?)\s*\Z")


def quantity(value, dimension, bare=None):
    """SI value of "84.0 mm", or of a bare number where `bare` (a unit's name) says what it means. Angles stay degrees."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        if bare is None:
            raise ValueError(f"{value!r}: a {dimension} needs its unit")
        number, unit = float(value), bare
    else:
        match = QUANTITY.match(str(value))
        if not match:
            raise ValueError(f"{value!r}: not a number with a unit")
        number, unit = float(match.group(1)), match.group(2)
    if unit not in UNITS or UNITS[unit][0] != dimension:
        raise ValueError(f"{value!r}: {unit} is no unit of {dimension}")
    _, factor, offset = UNITS[unit]
    return number * factor + offset


# --- air ------------------------------------------------------------------------------------------------------------

# NASA 7-coefficient polynomials, 200..1000 K: McBride, Gordon, Reno, NASA TM-4513, 1993. Mole fraction, molar mass
# (kg/mol), a1..a6.
SPECIES = (
    (0.78084, 28.0134e-3,
     (3.53100528, -1.23660987e-04, -5.02999437e-07, 2.43530612e-09, -1.40881235e-12, -1046.97628)),
    (0.20946, 31.9988e-3,
     (3.78245636, -2.99673415e-03, 9.847302e-06, -9.68129508e-09, 3.24372836e-12, -1063.94356)),
    (0.00970, 39.948e-3, (2.5, 0.0, 0.0, 0.0, 0.0, -745.375)),
)
R_AIR = 8.314462618 / sum(x * molar for x, molar, _ in SPECIES)
A1, A2, A3, A4, A5, A6 = (sum(x * a[i] for x, _, a in SPECIES) for i in range(6))
B2, B3, B4, B5 = A2 / 2.0, A3 / 3.0, A4 / 4.0, A5 / 5.0


def cp_air(t):
    """Specific heat at constant pressure, J/(kg K), of air at t kelvin."""
    return R_AIR * (A1 + t * (A2 + t * (A3 + t * (A4 + t * A5))))


def h_air(t):
    """Specific enthalpy, J/kg, of air at t kelvin, on the polynomials' own zero."""
    return R_AIR * (t * (A1 + t * (B2 + t * (B3 + t * (B4 + t * B5)))) + A6)


def viscosity(t):
    """Pa s; US Standard Atmosphere 1976, eq. 51."""
    return 1.458e-6 * t**1.5 / (t + 110.4)


def conductivity(t):
    """W/(m K); US Standard Atmosphere 1976, eq. 53."""
    return 2.64638e-3 * t**1.5 / (t + 245.4 * 10.0 ** (-12.0 / t))


def standard_atmosphere(altitude):
    """Pressure (Pa) and temperature (K) at a geopotential altitude (m) below 11 km: ISO 2533:1975."""
    t = 288.15 - 0.0065 * altitude
    return 101325.0 * (t / 288.15) ** 5.25588, t


EPSILON = 1e-8


def nozzle(p_up, t_up, p_down):
    """Isentropic mass flow per effective area, kg/(s m2), from p_up > p_down; choked where it must be.

    1 - r^((g-1)/g) = w is written with expm1 and log1p, so that small pressure differences keep their digits. The law's
    infinite slope at equal pressures is bounded by w/(w^2 + EPSILON^2)^(1/4) for sqrt(w): the same flow then needs a w
    larger by less than EPSILON, which is a pressure difference of less than EPSILON g/(g-1) of the pressure, 0.004 Pa.
    """
    cp = R_AIR * (A1 + t_up * (A2 + t_up * (A3 + t_up * (A4 + t_up * A5))))
    g = cp / (cp - R_AIR)
    k = (g - 1.0) / g
    log_r = math.log1p((p_down - p_up) / p_up) if p_down > 0.0 else -math.inf
    log_crit = math.log(2.0 / (g + 1.0)) / k
    if log_r < log_crit:
        log_r = log_crit
    w = -math.expm1(k * log_r)
    root_w = w / math.sqrt(math.sqrt(w * w + EPSILON * EPSILON))
    return p_up * root_w * math.sqrt(2.0 / k * math.exp(2.0 * log_r / g) / (R_AIR * t_up))


# --- the sheet ------------------------------------------------------------------------------------------------------

LEAKS = ("rings", "intake_valve", "exhaust_valve", "neighbour", "coolant")


class Case:
    """Everything one cylinder's run needs, in SI (angles in degrees of crank angle), and what had to be assumed."""

    def __init__(self, sheet):
        self.assumed = {}
        units = sheet.get("units") or {}

        def get(block, key, dimension, default, bare=None):
            value = (sheet.get(block) or {}).get(key)
            if value is None:
                self.assumed[f"{block}.{key}"] = default
                value = default
            if dimension is None:
                return value
            return quantity(value, dimension, bare or units.get(dimension))

        engine = sheet["engine"]
        self.cylinders = int(engine["cylinders"])
        self.bore = get("engine", "bore", "length", "86 mm")
        self.stroke = get("engine", "stroke", "length", "86 mm")
        self.rod = get("engine", "rod_length", "length", f"{1.65 * self.stroke} m")
        self.ratio = float(get("engine", "compression_ratio", None, 10.0))

        timing = get("engine", "valve_timing", None, {
            "intake_opens_btdc": 5, "intake_closes_abdc": 50, "exhaust_opens_bbdc": 50, "exhaust_closes_atdc": 5})
        angle = {key: quantity(value, "angle", "deg") for key, value in timing.items() if key != "at_lift"}
        if "at_lift" not in timing:
            self.assumed["engine.valve_timing.at_lift"] = "0.1 mm"
        lift_check = quantity(timing.get("at_lift", "0.1 mm"), "length", units.get("length"))
        cd = float(get("model", "valve_discharge", None, 0.6))
        self.valves = []
        # Crank angles with firing dead centre at 0: intake from 360 - IO to 540 + IC, exhaust from 180 - EO to 360 + EC.
        for kind, opens, closes, default in (
                ("intake", 360.0 - angle["intake_opens_btdc"], 540.0 + angle["intake_closes_abdc"], "0.37"),
                ("exhaust", 180.0 - angle["exhaust_opens_bbdc"], 360.0 + angle["exhaust_closes_atdc"], "0.32")):
            valve = get("engine", f"{kind}_valves", None,
                        {"count": 2, "diameter": f"{float(default) * self.bore} m", "lift": "9 mm"})
            lift = quantity(valve["lift"], "length", units.get("length"))
            diameter = quantity(valve["diameter"], "length", units.get("length"))
            total = (closes - opens) / (1.0 - 2.0 / math.pi * math.asin(math.sqrt(lift_check / lift)))
            start = 0.5 * (opens + closes) - 0.5 * total
            # Where the curtain pi D L reaches the throat pi/4 D^2, the area has a kink: a place to break the run.
            kinks = []
            if lift > diameter / 4.0:
                s = math.asin(math.sqrt(diameter / 4.0 / lift)) / math.pi
                kinks = [start + s * total, start + (1.0 - s) * total]
            self.valves.append({
                "start": start, "total": total, "curtain": int(valve["count"]) * cd * math.pi * diameter * lift,
                "most": int(valve["count"]) * cd * math.pi / 4.0 * diameter**2, "breaks": [start, start + total] + kinks})

        self.hose = get("gauge", "hose_volume", "volume", "12 ml")
        self.dead = get("gauge", "dead_volume", "volume", "2 ml")
        self.check_area = get("gauge", "valve_area", "area", "1 mm2")
        self.check_opens = get("gauge", "opening_pressure", "pressure", "7 kPa")

        conditions = sheet.get("conditions") or {}
        altitude = 0.0
        if "altitude" in conditions:
            altitude = quantity(conditions["altitude"], "length", units.get("length"))
        elif "barometer" not in conditions:
            self.assumed["conditions.altitude"] = "0 m"
        self.p_air, self.t_air = standard_atmosphere(altitude)
        if "barometer" in conditions:
            self.p_air = quantity(conditions["barometer"], "pressure", units.get("pressure"))
        if "air_temperature" in conditions:
            self.t_air = quantity(conditions["air_temperature"], "temperature", units.get("temperature"))
        else:
            self.assumed["conditions.air_temperature"] = f"{self.t_air} K"
        self.t_wall = get("conditions", "engine_temperature", "temperature", "70 C")
        self.speed = get("conditions", "cranking_speed", "speed", "220 rpm")
        self.strokes = int(get("conditions", "strokes", None, 8))
        if get("conditions", "throttle", None, "open") != "open":
            raise ValueError("a shut throttle is outside this calculation: the model names no throttle area")

        self.annand = float(get("model", "annand", None, 0.8))
        self.crevice = float(get("model", "crevice_fraction", None, 0.015))

        self.leaks = [dict.fromkeys(LEAKS, 0.0) for _ in range(self.cylinders)]
        if not sheet.get("leaks"):
            self.assumed["leaks"] = "none"
        for row in sheet.get("leaks") or []:
            which = range(self.cylinders) if row["cylinder"] == "all" else [int(row["cylinder"]) - 1]
            for i in which:
                for key in LEAKS:
                    if key in row:
                        self.leaks[i][key] = quantity(row[key], "area", units.get("area"))


def load(path):
    with open(path, encoding="utf-8") as stream:
        return Case(yaml.safe_load(stream))


# --- the cylinder ---------------------------------------------------------------------------------------------------


class Cylinder:
    """The equations of one cylinder. State: mass in cylinder and crevice, gas temperature, mass in the gauge, each
    divided by its value at the start. Independent variable: crank angle in radians, firing dead centre at 0."""

    def __init__(self, case, leaks):
        self.case = case
        self.face = math.pi / 4.0 * case.bore**2
        swept = self.face * case.stroke
        self.clearance = swept / (case.ratio - 1.0) + case.dead
        self.v_crevice = case.crevice * swept / (case.ratio - 1.0)
        self.leak_rings = leaks["rings"]
        self.leak_others = sum(leaks[k] for k in LEAKS if k != "rings")
        v_bdc = self.clearance + swept
        self.scale_m = case.p_air / R_AIR * (v_bdc / case.t_air + self.v_crevice / case.t_wall)
        self.scale_t = case.t_air
        self.scale_g = case.p_air * case.hose / (R_AIR * case.t_air)
        self.start = [1.0, 1.0, 1.0]
        self.rhs, self.parts = self._equations()

    def gauge(self, y):
        """Gauge pressure shown, Pa: the hose's gas stands at ambient temperature."""
        return (y[2] - 1.0) * self.case.p_air

    def breaks(self):
        """Crank angles (degrees) from bottom dead centre before compression 1 to the one after the last expansion, at
        which the equations or the readings need a stop."""
        end = -180.0 + 720.0 * self.case.strokes
        stops = {-180.0, end - 360.0}
        for cycle in range(self.case.strokes + 1):
            for angle in (-180.0, 0.0, 180.0, 360.0):
                stops.add(angle + 720.0 * cycle)
        for valve in self.case.valves:
            for angle in valve["breaks"]:
                for cycle in range(-2, self.case.strokes + 2):
                    stops.add(angle + 720.0 * cycle)
        ordered = sorted(s for s in stops if -180.0 <= s <= end - 360.0)
        return [s for i, s in enumerate(ordered) if i == 0 or s - ordered[i - 1] > 1e-9]

    def _equations(self):
        """The right-hand side as a closure over local names: attribute look-ups would double its cost."""
        case = self.case
        crank, rod = case.stroke / 2.0, case.rod
        rod2, crank2, reach = rod * rod, crank * crank, crank + rod
        face, clearance, bore, omega = self.face, self.clearance, case.bore, case.speed
        wall_base = 2.0 * face + math.pi * bore * clearance / face
        wall_slope = math.pi * bore
        p_air, t_air, t_wall = case.p_air, case.t_air, case.t_wall
        k_crevice = self.v_crevice / t_wall
        h_in_air, h_wall = h_air(t_air), h_air(t_wall)
        # Annand: h = a Re^0.7 k/B with Re = p/(R T) S_p B/mu
        sp = 2.0 * case.stroke * omega / (2.0 * math.pi)
        annand = case.annand * (sp * bore / R_AIR) ** 0.7 / bore
        area_rings, area_others = self.leak_rings, self.leak_others
        check_area, check_opens = case.check_area, case.check_opens
        valves = [(math.radians(v["start"]), 1.0 / math.radians(v["total"]), v["curtain"], v["most"])
                  for v in case.valves]
        (in_start, in_rate, in_curtain, in_most), (ex_start, ex_rate, ex_curtain, ex_most) = valves
        cycle = 4.0 * math.pi
        sm, st, sg = self.scale_m, self.scale_t, self.scale_g
        sin, cos, sqrt, pi, r = math.sin, math.cos, math.sqrt, math.pi, R_AIR

        def parts(theta, y):
            """dm/dtheta, dT/dtheta, dmg/dtheta (SI), and the terms of the energy balance of the main volume."""
            m, t, mg = y[0] * sm, y[1] * st, y[2] * sg
            s, c = sin(theta), cos(theta)
            root = sqrt(rod2 - crank2 * s * s)
            x = reach - crank * c - root
            v = clearance + face * x
            dv = face * (crank * s + crank2 * s * c / root) * omega
            stretch = v / t + k_crevice
            p = m * r / stretch

            area = area_others
            phase = ((theta - in_start) % cycle) * in_rate
            if phase < 1.0:
                lift = sin(pi * phase)
                opened = in_curtain * lift * lift
                area += opened if opened < in_most else in_most
            phase = ((theta - ex_start) % cycle) * ex_rate
            if phase < 1.0:
                lift = sin(pi * phase)
                opened = ex_curtain * lift * lift
                area += opened if opened < ex_most else ex_most

            cp = r * (A1 + t * (A2 + t * (A3 + t * (A4 + t * A5))))
            h = r * (t * (A1 + t * (B2 + t * (B3 + t * (B4 + t * B5)))) + A6)
            u = h - r * t
            flow_out = flow_in = 0.0
            enthalpy_in = 0.0
            if p > p_air:
                if area + area_rings > 0.0:
                    flow_out = (area + area_rings) * nozzle(p, t, p_air)
            elif p < p_air:
                if area > 0.0:
                    flow_in = area * nozzle(p_air, t_air, p)
                    enthalpy_in = flow_in * h_in_air
                if area_rings > 0.0:
                    blow_by = area_rings * nozzle(p_air, t_wall, p)
                    flow_in += blow_by
                    enthalpy_in += blow_by * h_wall
            to_gauge = 0.0
            p_up = p - check_opens
            p_gauge = y[2] * p_air
            if p_up > p_gauge:
                to_gauge = check_area * nozzle(p_up, t, p_gauge)
                flow_out += to_gauge

            heat = annand * (p / (t * viscosity(t))) ** 0.7 * conductivity(t) \
                * (wall_base + wall_slope * x) * (t_wall - t)
            dm = flow_in - flow_out
            # Energy of the main volume without the crevice: m1 cv dT/dt = e.
            e = heat - p * dv + (enthalpy_in - flow_in * u) - flow_out * r * t
            m1 = p * v / (r * t)
            mcv = m1 * (cp - r)
            # dp/dt = p0 + p1 dT/dt, and the crevice takes (k_crevice/R) dp/dt with excess enthalpy `carried`. The sign
            # of dp/dt does not depend on `carried`, so the direction is known before the temperature's rate is.
            p0 = p * (dm / m - dv / (t * stretch))
            p1 = p * v / (t * t * stretch)
            carried = r * t if p0 * mcv + p1 * e >= 0.0 else h_wall - u
            kc = k_crevice / r * carried
            dt = (e - kc * p0) / (mcv + kc * p1)
            return dm, dt, to_gauge, (heat, p * dv, enthalpy_in, flow_out * h,
                                      k_crevice / r * (p0 + p1 * dt) * (carried + u), m1, u, p, v)

        fm, ft, fg = 1.0 / (sm * omega), 1.0 / (st * omega), 1.0 / (sg * omega)

        def rhs(theta, y):
            dm, dt, dg, _ = parts(theta, y)
            return [dm * fm, dt * ft, dg * fg]

        return rhs, parts

    def run(self, method="LSODA", rtol=1e-9, count=None):
        """Gauge pressure (Pa gauge) after each compression stroke, read at the bottom dead centre that ends the expansion
        after it: the check valve may still pass gas a little after top dead centre."""
        stops = self.breaks()
        y = list(self.start)
        readings = []
        for begin, end in zip(stops, stops[1:]):
            if method == "RK4":
                y = rk4(self.rhs, math.radians(begin), math.radians(end), y, math.radians(rtol))
            else:
                answer = solve_ivp(self.rhs, (math.radians(begin), math.radians(end)), y, method=method, rtol=rtol,
                                   atol=rtol * 1e-2)
                if not answer.success:
                    raise RuntimeError(f"{method} gave up between {begin} and {end} degrees: {answer.message}")
                y = [float(v) for v in answer.y[:, -1]]
                if count is not None:
                    count["evaluations"] = count.get("evaluations", 0) + answer.nfev
            if abs((end - 180.0) % 720.0) < 1e-9:
                readings.append(self.gauge(y))
        return readings


def rk4(f, begin, end, y, step):
    """The classical Runge-Kutta rule with equal steps no longer than `step` (radians)."""
    n = max(1, math.ceil((end - begin) / step))
    h = (end - begin) / n
    for i in range(n):
        x = begin + i * h
        k1 = f(x, y)
        k2 = f(x + h / 2, [q + h / 2 * k for q, k in zip(y, k1)])
        k3 = f(x + h / 2, [q + h / 2 * k for q, k in zip(y, k2)])
        k4 = f(x + h, [q + h * k for q, k in zip(y, k3)])
        y = [q + h / 6 * (a + 2 * b + 2 * c + d) for q, a, b, c, d in zip(y, k1, k2, k3, k4)]
    return y


def predict(case, method="LSODA", rtol=1e-9, only_first=False):
    """The answer in the shape of `predict --json`. Equal cylinders are computed once."""
    known, rows, count = {}, [], {}
    for number, leaks in enumerate(case.leaks, 1):
        key = tuple(leaks[k] for k in LEAKS)
        if key not in known:
            if only_first and known:
                continue
            known[key] = [p / 1e3 for p in Cylinder(case, leaks).run(method, rtol, count)]
        rows.append({"cylinder": number, "gauge_kPa": known[key]})
    return {"cylinders": rows, "assumed": case.assumed}, count


# --- checks of this program itself ----------------------------------------------------------------------------------


def selfcheck(case):
    """Balances and limits that hold whatever the integrator: name -> relative error. See README.md."""
    result = {}
    leaks = case.leaks[0]

    # Energy: integrate the terms of the balance beside the state and compare with the internal energy at the end.
    cylinder = Cylinder(case, leaks)
    parts, omega = cylinder.parts, case.speed
    scale = cylinder.scale_m * R_AIR * case.t_air
    throughput = 0.0

    def balance(theta, y):
        dm, dt, dg, (heat, work, h_in, h_out, h_crevice, *_) = parts(theta, y)
        gained = heat - work + h_in - h_out - h_crevice
        return [dm / (cylinder.scale_m * omega), dt / (cylinder.scale_t * omega), dg / (cylinder.scale_g * omega),
                gained / (scale * omega), abs(work) / (scale * omega)]

    y = [1.0, 1.0, 1.0, 0.0, 0.0]
    m1, u = parts(-math.pi, y)[3][5:7]
    before = m1 * u
    stops = cylinder.breaks()
    for begin, end in zip(stops, stops[1:]):
        y = solve_ivp(balance, (math.radians(begin), math.radians(end)), y, method="LSODA", rtol=1e-9,
                      atol=1e-11).y[:, -1]
        throughput = y[4]
    m1, u = parts(math.radians(stops[-1]), y)[3][5:7]
    result["energy"] = ((m1 * u - before) / scale - y[3]) / throughput

    # No leak, heat, crevice or gauge, valves shut: the entropy of air at constant composition, ds = cp dT/T - R dp/p.
    shut = copy.copy(case)
    shut.annand = shut.crevice = 0.0
    shut.check_area = 0.0
    shut.valves = [dict(v, curtain=0.0, most=0.0) for v in case.valves]
    none = dict.fromkeys(LEAKS, 0.0)
    closed = Cylinder(shut, none)
    y = solve_ivp(closed.rhs, (-math.pi, 0.0), closed.start, method="LSODA", rtol=1e-10, atol=1e-12).y[:, -1]
    t = y[1] * closed.scale_t
    p = closed.parts(0.0, y)[3][7]

    def s0(t):
        return A1 * math.log(t) + t * (A2 + t * (A3 / 2 + t * (A4 / 3 + t * A5 / 4)))

    result["isentropic"] = p / (case.p_air * math.exp(s0(t) - s0(case.t_air))) - 1.0

    # Walls at gas temperature with great heat transfer: p V stays.
    warm = copy.copy(shut)
    warm.annand, warm.t_wall = 1e5, case.t_air
    iso = Cylinder(warm, none)
    y = solve_ivp(iso.rhs, (-math.pi, 0.0), iso.start, method="BDF", rtol=1e-9, atol=1e-11).y[:, -1]
    swept = iso.face * case.stroke
    p = iso.parts(0.0, y)[3][7]
    result["isothermal"] = p * iso.clearance / (case.p_air * (iso.clearance + swept)) - 1.0
    return result


# --- faces ----------------------------------------------------------------------------------------------------------


def worst_difference(one, other):
    """Largest relative difference of any reading of two answers with the same cylinders and strokes."""
    worst = 0.0
    for a, b in zip(one["cylinders"], other["cylinders"]):
        if a["cylinder"] != b["cylinder"] or len(a["gauge_kPa"]) != len(b["gauge_kPa"]):
            return math.inf
        for p, q in zip(a["gauge_kPa"], b["gauge_kPa"]):
            worst = max(worst, abs(p - q) / abs(q))
    return worst if len(one["cylinders"]) == len(other["cylinders"]) else math.inf


def write_answer(path, answer):
    """One row a cylinder, a millipascal in the last digit: more than the two integrators agree on."""
    rows = ",\n".join('  {"cylinder": %d, "gauge_kPa": [%s]}'
                      % (row["cylinder"], ", ".join(f"{p:.6f}" for p in row["gauge_kPa"])) for row in answer["cylinders"])
    with open(path, "w", encoding="utf-8") as stream:
        stream.write('{"cylinders": [\n' + rows + "\n]}\n")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--method", default="LSODA", choices=["LSODA", "Radau", "BDF", "RK4"])
    parser.add_argument("--rtol", type=float, default=1e-9, help="relative tolerance; with RK4 the step in degrees")
    parser.add_argument("--selfcheck", action="store_true", help="balances and limits of each sheet's first cylinder")
    parser.add_argument("--store", metavar="FOLDER")
    parser.add_argument("--compare", nargs=2, metavar=("METHOD", "FOLDER"))
    parser.add_argument("sheets", nargs="*")
    args = parser.parse_args()
    for folder in filter(None, [args.store, args.compare and args.compare[1]]):
        for path in sorted(glob.glob(os.path.join(folder, "*.yaml"))):
            began = time.perf_counter()
            case = load(path)
            stored = path[:-5] + ".json"
            if args.store:
                answer, _ = predict(case, args.method, args.rtol)
                write_answer(stored, answer)
                note = f"{answer['cylinders'][0]['gauge_kPa'][-1]:.3f} kPa, assumed: {sorted(case.assumed)}"
            else:
                answer, _ = predict(case, args.compare[0], args.rtol)
                with open(stored, encoding="utf-8") as stream:
                    note = f"{worst_difference(answer, json.load(stream)):.2e} apart"
            print(f"{os.path.basename(path)[:-5]}: {note}, {time.perf_counter() - began:.1f} s", flush=True)
    for path in args.sheets:
        case = load(path)
        if args.selfcheck:
            print(os.path.basename(path), json.dumps(selfcheck(case)))
        else:
            print(json.dumps(predict(case, args.method, args.rtol)[0]))


if __name__ == "__main__":
    sys.exit(main())
