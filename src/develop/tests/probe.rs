use super::super::*;
use super::super::shapes::*;
use std::f64::consts::PI;
#[test]
fn probe() {
    let o = Options::default();
    let run = |name: &str, s: Shape| {
        let t0 = std::time::Instant::now();
        match develop(&s, &o) {
            Ok(f) => {
                let rows: Vec<refold::Row> = f.bends.iter().map(refold::Row::from).collect();
                let mut places = vec![];
                for k in 0..=8 { let w = k as f64/8.0; let (lo,hi)=s.ends(w);
                    for i in 0..=40 { places.push((lo+(hi-lo)*i as f64/40.0, w)); } }
                let flat: Vec<_> = places.iter().map(|p| f.map.at(p.0,p.1)).collect();
                let g = refold::refold_gap(&rows, &flat, &places, &s);
                println!("{name}: {:?} ms, stretch {:e} at {:?} energy {:e} rows {} gap {:?}", t0.elapsed().as_secs_f64()*1e3, f.stretch.signed, f.stretch.at, f.stretch.energy_mm2, f.bends.len(), g);
            }
            Err(e) => println!("{name}: {e}"),
        }
    };
    run("plane", plane(3600.0, 180.0));
    run("plane mitred", plane(3600.0, 180.0).with_ends(|w| (180.0*w, 3600.0+100.0*w)));
    run("cone", cone(4.0,2.5,4.0,2.0*PI));
    run("cone2500", cone(2500.0,2330.0,20.0,1.5));
    run("cyl", cut_cylinder(100.0,-200.0,2.0*PI));
    run("screw", helicoid(150.0,50.0,300.0,2.0*PI));
    run("ribbon", ribbon(3600.0,180.0,1.75e-5));
    run("ribbon5", ribbon(3600.0,180.0,3e-4));
    run("torus", torus(3000.0,1000.0,0.8,1.0,1.2));
    run("saddle", saddle(3600.0,180.0,20000.0));
    for r in [2500.0, 5000.0, 10000.0, 30000.0] {
        for sl in [0.0, 1.6e-5] {
          run(&format!("deck {r} {sl}"), deck(Deck{length:3500.0,width:180.0,radius:r,slope:0.06,slope_rate:sl,sheer:2e-5}));
        }
    }
}
