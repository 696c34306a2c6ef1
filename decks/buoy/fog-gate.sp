* The fog horn's gate of the message buffer, as a reader of the board wrote it down: three drivers and their load.
.subckt fog_gate a b c y VSS VDD
M1 y a VSS VSS nmos
M2 y b VSS VSS nmos
M3 y c VSS VSS nmos
M4 VDD y y VSS nmosd
.ends
