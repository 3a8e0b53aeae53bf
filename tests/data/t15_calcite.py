"""15. What a membrane lets pass and a bed of calcite gives back, by full speciation (phreeqc.dat): three feeds, of which a share of
every ion and all carbon dioxide pass; the product's pH, then the calcite that dissolves until it is saturated, closed to the air."""
from phreeqpython import PhreeqPython
from common import write, ver

ip = PhreeqPython(database="phreeqc.dat").ip
ip.set_selected_output_file_off()
FEEDS = {  # mg/L; alkalinity as CaCO3
    "soft_well": dict(T=11, pH=6.8, Ca=12, Mg=4, Na=12, K=1.5, Cl=12, SO4=10, SiO2=18, Alk=45),
    "hard_well": dict(T=13, pH=7.4, Ca=90, Mg=30, Na=20, K=2, Cl=44.13, SO4=50, SiO2=15, Alk=280),
    "brackish_well": dict(T=18, pH=7.6, Ca=110, Mg=45, Na=400, K=8, Cl=565.61, SO4=300, SiO2=20, Alk=230),
}

def solution(w, ph):
    return f"""SOLUTION 1
 units mg/l
 temp {w['T']}
 {ph}
 Ca {w['Ca']}
 Mg {w['Mg']}
 Na {w['Na']}
 K {w['K']}
 Cl {w['Cl']}
 S(6) {w['SO4']} as SO4
 Si {w['SiO2']} as SiO2
 Alkalinity {w['Alk']} as Ca0.5(CO3)0.5
"""

def ask(text, names):
    heads, punch = zip(*names)
    ip.run_string(f"SELECTED_OUTPUT 1\n -reset false\nUSER_PUNCH 1\n -headings {' '.join(heads)}\n 10 PUNCH {', '.join(punch)}\n{text}END\n")
    return dict(zip(heads, [float(x) for x in ip.get_selected_output_array()[-1]]))

basic = [("pH", '-LA("H+")'), ("co2", 'MOL("CO2")'), ("SI", 'SI("Calcite")'), ("SIco2", 'SI("CO2(g)")')]
rows = []
for name, feed in FEEDS.items():
    f = ask(solution(feed, f"pH {feed['pH']}"), basic)
    for share in (0.01, 0.03, 0.1):
        w = {k: v * (1 if k in ("T", "pH") else share) for k, v in feed.items()}
        # Carbon dioxide as in the feed: the product's pH is what it then is.
        p = ask(solution(w, f"pH 6 CO2(g) {f['SIco2']}"), basic)
        h = ask(solution(w, f"pH {p['pH']}") + "EQUILIBRIUM_PHASES 1\n Calcite 0 10\n", basic + [("left", 'EQUI("Calcite")')])
        rows.append([name, feed["T"], feed["pH"], share, f["co2"] * 1e3, p["pH"], (10 - h["left"]) * 1e5 * 1.000869, h["pH"]])
write("15_calcite", ["feed", "T_C", "pH", "share", "co2_mmol_kg", "product_pH", "calcite_mg_kg", "hardened_pH"], rows,
      [ver("phreeqpython") + " phreeqc.dat | SOLUTION, pH by CO2(g) at the feed's saturation index; EQUILIBRIUM_PHASES Calcite 0",
       "ion table: " + "; ".join(f"{n}: " + ",".join(f"{k}={v:.2f}" for k, v in w.items()) for n, w in FEEDS.items())], show=20)
