-- Written by release 0.1.0 (record schema 1), then dumped; all people in it are made up.
PRAGMA application_id = 1129271857;
PRAGMA journal_mode = WAL;
BEGIN TRANSACTION;
CREATE TABLE attempts (
	attempt_id VARCHAR(64) NOT NULL, 
	learner VARCHAR(80) NOT NULL, 
	lesson VARCHAR(80) NOT NULL, 
	mode VARCHAR(20) NOT NULL, 
	seed INTEGER NOT NULL, 
	scenario_hash VARCHAR(64) NOT NULL, 
	model_version VARCHAR(40) NOT NULL, 
	record TEXT NOT NULL, 
	made_at VARCHAR(32) NOT NULL, 
	PRIMARY KEY (attempt_id)
);
INSERT INTO "attempts" VALUES('aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa','Ash','','practice',3,'8f342584cd8536187bd7a7bd1ea96e72a7a4eeaa7b9b28a3a36991fa33b3a607','0.1.0','{"learner":"Ash","mode":"practice","model_version":"0.1.0","scenario":{"allowed_checks":"all","brief":"Otter Cut calls. It is the night watch. They tried two starts this morning and gave up. The engine sounds fine, they say. Put it right, and show them that it primes.","faults":[{"fault":"pump_high","lift_m":7.62}],"format":"callout-scenario","language":"en","mode":"practice","rig":"osier","see_through":false,"seed":2020382759,"site":{"air_temperature_c":13.0,"altitude_m":0.0,"lift_m":4.6,"name":"Otter Cut","submergence_m":1.2,"water_temperature_c":12.0},"title":"Call from Otter Cut","version":2},"scenario_hash":"8f342584cd8536187bd7a7bd1ea96e72a7a4eeaa7b9b28a3a36991fa33b3a607","seed":3}','2026-03-02T08:00:00.000Z');
INSERT INTO "attempts" VALUES('bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb','Ash','03','lesson',5,'','0.1.0','{"learner":"Ash","lesson":"03","mode":"lesson","model_version":"0.1.0","seed":5}','2026-03-02T08:00:42.000Z');
INSERT INTO "attempts" VALUES('cccccccccccccccccccccccccccccccc','Ash','03','lesson',6,'','0.1.0','{"learner":"Ash","lesson":"03","mode":"lesson","model_version":"0.1.0","seed":6}','2026-03-01T08:01:31.000Z');
INSERT INTO "attempts" VALUES('dddddddddddddddddddddddddddddddd','Rue','01','lesson',7,'','0.1.0','{"learner":"Rue","lesson":"01","mode":"lesson","model_version":"0.1.0","seed":7}','2026-03-01T08:01:45.000Z');
INSERT INTO "attempts" VALUES('a177e6498c7a4d38bf8160892c887995','Rue','observed-job','observed',0,'','0.1.0','{"job":{"call":"","cause":"suction hose gasket","done_on":"2026-03-02","ending":"mended","first_call":"","learner":"Rue","observer":"Wren","points":{"safety":25.0},"proof_s":null,"remarks":"","rig":"","safety":"","second_call":"","site":"","steps":["Walk round","Blank off"],"work":""},"learner":"Rue","lesson":"observed-job","mode":"observed","model_version":"0.1.0"}','2026-03-01T08:01:59.000Z');
CREATE TABLE endings (
	attempt_id VARCHAR(64) NOT NULL, 
	reason VARCHAR(40) NOT NULL, 
	made_at VARCHAR(32) NOT NULL, 
	PRIMARY KEY (attempt_id), 
	FOREIGN KEY(attempt_id) REFERENCES attempts (attempt_id)
);
INSERT INTO "endings" VALUES('dddddddddddddddddddddddddddddddd','left','2026-03-01T08:01:52.000Z');
INSERT INTO "endings" VALUES('a177e6498c7a4d38bf8160892c887995','observed','2026-03-01T08:02:13.000Z');
CREATE TABLE events (
	attempt_id VARCHAR(64) NOT NULL, 
	seq INTEGER NOT NULL, 
	click_id VARCHAR(80), 
	yard_minutes FLOAT, 
	run_seconds FLOAT, 
	kind VARCHAR(40) NOT NULL, 
	payload TEXT NOT NULL, 
	made_at VARCHAR(32) NOT NULL, 
	PRIMARY KEY (attempt_id, seq), 
	UNIQUE (attempt_id, click_id), 
	FOREIGN KEY(attempt_id) REFERENCES attempts (attempt_id)
);
INSERT INTO "events" VALUES('aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa',0,NULL,0.0,NULL,'begin','{"accepted":true,"act":"begin","args":{},"breach":"","click_id":null,"clock_s":0.0,"ended":"","notes":[{"clock":0,"fields":{},"key":"attempt.did.begin","kind":"act"}],"reason":"","result":{},"run":null,"seq":0,"shown_s":null}','2026-03-02T08:00:07.000Z');
INSERT INTO "events" VALUES('aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa',1,'click 1',0.0,NULL,'put_on_ppe','{"accepted":true,"act":"put_on_ppe","args":{},"breach":"","click_id":"click 1","clock_s":0.0,"ended":"","notes":[{"clock":0,"fields":{},"key":"attempt.did.put_on_ppe","kind":"act"}],"reason":"","result":{"minutes":1.0},"run":null,"seq":1,"shown_s":null}','2026-03-02T08:00:14.000Z');
INSERT INTO "events" VALUES('aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa',2,'click 2',1.0,NULL,'start_engine','{"accepted":false,"act":"start_engine","args":{},"breach":"serious","click_id":"click 2","clock_s":60.0,"ended":"","notes":[{"clock":600,"fields":{},"key":"attempt.needs.discharge_secured","kind":"warning"},{"clock":600,"fields":{},"key":"attempt.needs.question","kind":"warning"}],"reason":"needs","result":{"lacking":["discharge_secured","question"]},"run":null,"seq":2,"shown_s":null}','2026-03-02T08:00:21.000Z');
INSERT INTO "events" VALUES('aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa',3,'click 3',1.0,NULL,'secure_discharge','{"accepted":true,"act":"secure_discharge","args":{},"breach":"","click_id":"click 3","clock_s":60.0,"ended":"","notes":[{"clock":600,"fields":{},"key":"attempt.did.secure_discharge","kind":"act"}],"reason":"","result":{"minutes":1.0},"run":null,"seq":3,"shown_s":null}','2026-03-02T08:00:28.000Z');
INSERT INTO "events" VALUES('bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb',0,'c0',NULL,NULL,'answer','{"answer":0,"click":"c0","kind":"answer","question":"guess"}','2026-03-02T08:00:49.000Z');
INSERT INTO "events" VALUES('bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb',1,'c1',NULL,NULL,'answer','{"answer":1,"click":"c1","kind":"answer","question":"drill 1"}','2026-03-02T08:00:56.000Z');
INSERT INTO "events" VALUES('bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb',2,'c2',NULL,NULL,'answer','{"answer":2,"click":"c2","kind":"answer","question":"drill 2"}','2026-03-02T08:01:03.000Z');
INSERT INTO "events" VALUES('cccccccccccccccccccccccccccccccc',0,'x',NULL,NULL,'answer','{"answer":"\u00fc \u2603","click":"x","kind":"answer","question":"guess"}','2026-03-01T08:01:38.000Z');
CREATE TABLE marks (
	attempt_id VARCHAR(64) NOT NULL, 
	source VARCHAR(20) NOT NULL, 
	version INTEGER NOT NULL, 
	marked_by VARCHAR(80) NOT NULL, 
	sheet TEXT NOT NULL, 
	made_at VARCHAR(32) NOT NULL, 
	PRIMARY KEY (attempt_id, source, version), 
	FOREIGN KEY(attempt_id) REFERENCES attempts (attempt_id)
);
INSERT INTO "marks" VALUES('bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb','automatic',1,'','{"parts":[],"total":80}','2026-03-02T08:01:10.000Z');
INSERT INTO "marks" VALUES('bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb','trainer',1,'Wren','{"parts":[],"total":25}','2026-03-02T08:01:17.000Z');
INSERT INTO "marks" VALUES('bbbbbbbbbbbbbbbbbbbbbbbbbbbbbbbb','trainer',2,'Wren','{"parts":[],"total":5}','2026-03-01T08:01:24.000Z');
INSERT INTO "marks" VALUES('a177e6498c7a4d38bf8160892c887995','trainer',1,'Wren','{"parts":[{"id":"safety","out_of":25.0,"points":25.0}],"total":100.0}','2026-03-01T08:02:06.000Z');
CREATE TABLE meta (
	name VARCHAR(40) NOT NULL, 
	value TEXT NOT NULL, 
	PRIMARY KEY (name)
);
INSERT INTO "meta" VALUES('record_schema','1');
CREATE TABLE progress (
	attempt_id VARCHAR(64) NOT NULL, 
	data TEXT NOT NULL, 
	made_at VARCHAR(32) NOT NULL, 
	PRIMARY KEY (attempt_id), 
	FOREIGN KEY(attempt_id) REFERENCES attempts (attempt_id)
);
INSERT INTO "progress" VALUES('aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa','{"run":0,"shown_s":12.5}','2026-03-02T08:00:35.000Z');
CREATE INDEX ix_attempts_learner ON attempts (learner);
CREATE TRIGGER attempts_no_update BEFORE UPDATE ON attempts BEGIN SELECT RAISE(ABORT, 'attempts are append-only'); END;
CREATE TRIGGER attempts_no_delete BEFORE DELETE ON attempts BEGIN SELECT RAISE(ABORT, 'attempts are append-only'); END;
CREATE TRIGGER events_no_update BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'events are append-only'); END;
CREATE TRIGGER events_no_delete BEFORE DELETE ON events BEGIN SELECT RAISE(ABORT, 'events are append-only'); END;
CREATE TRIGGER marks_no_update BEFORE UPDATE ON marks BEGIN SELECT RAISE(ABORT, 'marks are append-only'); END;
CREATE TRIGGER marks_no_delete BEFORE DELETE ON marks BEGIN SELECT RAISE(ABORT, 'marks are append-only'); END;
CREATE TRIGGER endings_no_update BEFORE UPDATE ON endings BEGIN SELECT RAISE(ABORT, 'endings are append-only'); END;
CREATE TRIGGER endings_no_delete BEFORE DELETE ON endings BEGIN SELECT RAISE(ABORT, 'endings are append-only'); END;
COMMIT;
