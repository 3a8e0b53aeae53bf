"""14. Steady RO vessel, 3 elements in series, concentrate recycle; equations in docs/physics.md, "Membrane". Simultaneous scipy root, checked by nested fixed-point/brentq."""
import numpy as np
from math import exp
from scipy.optimize import root, brentq
from common import write, ver
N, S, R, M = 3, 6.9, 8.314462618e-2, 58.4428     # elements; m2 per element; bar L/(mol K); g/mol
A0, B0, KD, PHI, PP = 1.86, 0.20, 0.031, 0.93, 0.3   # LMH/bar, LMH (25 C), bar/(m3/h)^1.7, osmotic coefficient, permeate back pressure bar
tcf = lambda T: exp(2640*(1/298.15 - 1/T))
pi = lambda c, T: PHI*2*R*T*c/1000/M             # c mg/L -> bar
def element(Qf, Cf, Pf, T, qp, cp):
    qc = Qf - qp; cc = (Qf*Cf - qp*cp)/qc; cfc = (Cf + cc)/2
    cm = cfc*exp(0.7*qp/Qf); dp = KD*((Qf + qc)/2)**1.7
    ndp = Pf - dp/2 - PP - (pi(cm, T) - pi(cp, T))
    r1 = A0*tcf(T)*S*ndp/1000 - qp               # m3/h
    r2 = B0*tcf(T)*S*(cm - cp)/1000 - qp*cp
    return r1, r2, qc, cc, Pf - dp, cm, ndp
def train(x, Qv, Cv, Pf, T):
    Q, C, P, res, det = Qv, Cv, Pf, [], []
    for i in range(N):
        r1, r2, qc, cc, pn, cm, ndp = element(Q, C, P, T, x[2*i], x[2*i+1])
        res += [r1, r2/1e2]; det.append((Q, C, P, x[2*i], x[2*i+1], qc, cc, cm, ndp)); Q, C, P = qc, cc, pn
    return res, det, Q, C, P
def solve_flow(C0, Qv, y, r, T):                 # mode A: vessel feed Qv, concentrate fraction y=Qc/Qv, recycle r; unknown Pf
    def F(z):
        res, det, Qc, Cc, Pc = train(z[:6], Qv, z[7]*C0, z[6], T)
        Qfr = Qv - r*Qc
        return res + [Qc - y*Qv, (Qfr*C0 + r*Qc*Cc)/Qv/C0 - z[7]]
    z0 = [ (1-y)*Qv/3, C0*.02]*3 + [15.0, 1 + r]
    s = root(F, z0, method="hybr", tol=1e-14); assert max(abs(np.array(F(s.x)))) < 1e-9, (s.message, F(s.x))
    return s.x[6], s.x[7]*C0, s.x[:6]
def solve_valve(C0, Ps, a0, a2, kv, r, T):       # mode B: pump dP=a0-a2 Qv^2 on suction Ps, valve Qc=kv*sqrt(Pc), recycle r
    def F(z):
        Qv = z[8]; res, det, Qc, Cc, Pc = train(z[:6], Qv, z[7]*C0, z[6], T)
        return res + [Qc - kv*np.sqrt(max(Pc, 1e-9)), ((Qv - r*Qc)*C0 + r*Qc*Cc)/Qv/C0 - z[7], Ps + a0 - a2*Qv*Qv - z[6]]
    s = root(F, [.2, C0*.02]*3 + [15.0, 1 + r, 2.0], method="hybr", tol=1e-14); assert max(abs(np.array(F(s.x)))) < 1e-9, s.message
    return s.x[8], s.x[6], s.x[7]*C0, s.x[:6]
# --- independent check: sequential element march (inner brentq per element) + brentq on pressure + fixed point on the recycle concentration
def march(Qv, Cv, Pf, T):
    Q, C, P, qt, mt = Qv, Cv, Pf, 0.0, 0.0
    for i in range(N):
        def cp_of(qp):                           # linear in cp: qp cp = Bs (g ((C+cc)/2) - cp), cc=(Q C - qp cp)/(Q-qp)
            b, g = B0*tcf(T)*S/1000, exp(0.7*qp/Q)
            return b*g*(C + Q*C/(Q-qp))/2/(qp + b + b*g*qp/(Q-qp)/2)
        qp = brentq(lambda q: element(Q, C, P, T, q, cp_of(q))[0], 1e-9, 0.97*Q, xtol=1e-15); cp = cp_of(qp)
        _, _, Q2, C2, P2, _, _ = element(Q, C, P, T, qp, cp); qt += qp; mt += qp*cp; Q, C, P = Q2, C2, P2
    return qt, mt/qt, Q, C, P
def check_flow(C0, Qv, y, r, T):
    Cv = C0
    for _ in range(300):
        Pf = brentq(lambda p: march(Qv, Cv, p, T)[0] - (1-y)*Qv, 1, 80, xtol=1e-13)
        qt, cp, Qc, Cc, Pc = march(Qv, Cv, Pf, T); new = ((Qv - r*Qc)*C0 + r*Qc*Cc)/Qv
        if abs(new - Cv) < 1e-11*C0: break
        Cv = new
    return Pf, Cv, qt, cp
def check_valve(C0, Ps, a0, a2, kv, r, T):
    Cv = C0
    for _ in range(300):
        def g(Qv):
            Pf = Ps + a0 - a2*Qv*Qv; qt, cp, Qc, Cc, Pc = march(Qv, Cv, Pf, T); return Qc - kv*np.sqrt(Pc)
        Qv = brentq(g, 1.0, 3.0, xtol=1e-14); Pf = Ps + a0 - a2*Qv*Qv; qt, cp, Qc, Cc, Pc = march(Qv, Cv, Pf, T)
        new = ((Qv - r*Qc)*C0 + r*Qc*Cc)/Qv
        if abs(new - Cv) < 1e-11*C0: break
        Cv = new
    return Pf, Cv, qt, cp, Qv
GPD = 3.785411784e-3/24                          # m3/h per gpd
hdr = ["case", "mode", "C0_mg_L", "T_C", "vessel_feed_m3_h", "conc_fraction_y", "recycle_r", "valve_kv", "P_feed_bar", "P_conc_bar", "vessel_feed_TDS", "permeate_m3_h", "permeate_gpd", "permeate_TDS", "conc_TDS", "fresh_feed_m3_h", "drain_m3_h",
       "system_recovery", "vessel_recovery", "R1", "R2", "R3", "flux1_LMH", "flux2_LMH", "flux3_LMH", "mean_flux_LMH", "tail_crossflow_m3_h", "salt_rejection_system", "salt_balance_rel", "check_permeate_rel", "check_Cp_rel"]
rows = []
def out(name, mode, C0, Qv, y, r, kv, T, Pf, Cv, x, chk):
    res, d, Qc, Cc, Pc = train(x, Qv, Cv, Pf, T)
    qp = sum(e[3] for e in d); cp = sum(e[3]*e[4] for e in d)/qp; fr = Qv - r*Qc; dr = (1-r)*Qc
    J = [e[3]/S*1000 for e in d]
    rows.append([name, mode, C0, T-273.15, Qv, Qc/Qv, r, kv, Pf, Pc, Cv, qp, qp/GPD, cp, Cc, fr, dr, qp/fr, qp/Qv] + [e[3]/e[0] for e in d] + J + [qp/N/S*1000, Qc, 1 - cp/C0, (qp*cp + dr*Cc)/(fr*C0) - 1, chk[2]/qp - 1, chk[3]/cp - 1])
casesA = [(500, 1.7, .685, 0.0, 25), (500, 1.7, .685, .55, 25), (500, 1.7, .685, .80, 12), (1500, 1.7, .685, 0.0, 25), (1500, 1.7, .685, .55, 25), (1500, 1.7, .685, .75, 25),
          (1500, 1.7, .72, .75, 10), (3000, 1.7, .70, 0.0, 25), (3000, 1.7, .70, .50, 25), (3000, 1.7, .70, .70, 15), (1500, 1.2, .60, .30, 25), (1500, 2.2, .76, .80, 20)]
for i, (C0, Qv, y, r, tc) in enumerate(casesA):
    T = tc + 273.15; Pf, Cv, x = solve_flow(C0, Qv, y, r, T); out(f"A{i+1}", "flow", C0, Qv, y, r, "", T, Pf, Cv, x, check_flow(C0, Qv, y, r, T))
PUMP = (3.0, 18.0, 1.80)                         # suction bar, a0 bar, a2 bar/(m3/h)^2
casesB = [(500, .31, .55, 25), (500, .31, .55, 10), (1500, .31, 0.0, 25), (1500, .31, .55, 25), (1500, .31, .75, 25), (1500, .31, .75, 10), (1500, .26, .75, 25), (1500, .39, .75, 25), (3000, .31, .55, 25), (3000, .31, .55, 12), (3000, .31, .75, 25), (3000, .22, .3, 18)]
for i, (C0, kv, r, tc) in enumerate(casesB):
    T = tc + 273.15; Qv, Pf, Cv, x = solve_valve(C0, *PUMP, kv, r, T); ch = check_valve(C0, *PUMP, kv, r, T); out(f"B{i+1}", "pump_valve", C0, Qv, 0, r, kv, T, Pf, Cv, x, ch)
write("14_ro", hdr, rows, [ver("scipy") + " | scipy.optimize.root(hybr) on the simultaneous system; check: element march + brentq + fixed point; mg/L, bar, m3/h",
      f"constants: N={N} S={S} m2 A={A0} LMH/bar B={B0} LMH KD={KD} PHI={PHI} Pp={PP} bar tcf=exp(2640(1/298.15-1/T)) for A and B; pump (mode B): Ps={PUMP[0]}, dP={PUMP[1]}-{PUMP[2]}Q^2"], show=0, sig=10)
for r in rows: print("  ", r[0], f"C0={r[2]} T={r[3]:.0f} Qv={r[4]:.4f} y={r[5]:.3f} r={r[6]} Pf={r[8]:.3f} ({r[8]*14.5038:.0f} psi) Qp={r[11]:.4f} ({r[12]:.0f} gpd) Cp={r[13]:.2f} Cc={r[14]:.0f} sysrec={r[17]:.4f} vrec={r[18]:.3f} R={r[19]:.3f},{r[20]:.3f},{r[21]:.3f} J={r[25]:.2f} Qc={r[26]:.3f}")
print("max check errors: salt balance %.1e, Qp %.1e, Cp %.1e" % tuple(max(abs(r[k]) for r in rows) for k in (28, 29, 30)))
