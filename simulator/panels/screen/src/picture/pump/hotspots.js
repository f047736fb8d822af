// Where the parts of the pump end can be pressed.

/**
 * Where the parts of the pump end can be pressed: parts of the rig, the word that names them, and a point.
 * @param {Rig} rig
 * @param {Words} words
 */
export function pumpHotspots(rig, words) {
  const spots = [
    [["exhaust"], "exhaust", 22, 104],
    [["nozzle", "mixing_tube"], "nozzle", 150, 140],
    [["nozzle", "mixing_tube"], "ejector", 92, 140],
    [["air_line"], "air_line", 250, 140],
    [["screen"], "screen", 121, 228],
    [["relief", "compressor"], "relief", 318, 104],
    [["compressor"], "compressor", 386, 138],
    [["intake", "belt"], "filter", 428, 134],
    [["belt", "intake"], "belt", 388, 250],
    [["engine"], "engine", 380, 366],
    [["nrv"], "nrv", 256, 206],
    [["frost_drain"], "frost_drain", 214, 190],
    [["discharge_line"], "to_discharge_short", 420, 46],
    [["discharge_line"], "to_discharge_short", 256, 100],
    [["discharge_valve", "discharge_line"], "discharge_valve", 329, 46],
    [["casing_drain"], "drain", 206, 404],
    [["pump", "impeller", "seal"], "casing", 206, 316],
    [["flange", "suction_flange"], "flange", 66, 316],
    [["hose", "joint", "length"], "suction", 14, 316],
    [["suction_gauge"], "gauge", 84, 243],
    [["gauges", "suction_gauge", "motive_gauge"], "gauge", 297, 246],
    ...(rig.has_cock ? [[["cock"], "cock", 132, 174]] : []),
    ...(rig.has_float ? [[["float"], "float", 118, 200]] : []),
    ...(rig.has_motive_gauge !== false ? [[["motive_gauge", "gauges"], "gauge", 292, 118]] : []),
  ];
  return spots.map(([parts, name, x, y]) => ({ parts, name: words[`part_${name}`], x, y }));
}
