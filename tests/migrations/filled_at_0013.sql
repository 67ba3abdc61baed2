-- A database of one shoot as the version before 0.1.0 (step 0013) wrote it.
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
CREATE TABLE cameras (
	id VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	notes VARCHAR NOT NULL, 
	retired BOOLEAN NOT NULL, 
	created_at DATETIME NOT NULL, 
	sensor_width_mm FLOAT NOT NULL, 
	sensor_height_mm FLOAT NOT NULL, 
	width_px INTEGER NOT NULL, 
	height_px INTEGER NOT NULL, 
	sync_mark VARCHAR NOT NULL, 
	lowest_iso FLOAT NOT NULL, 
	highest_iso FLOAT NOT NULL, 
	shutter_dial VARCHAR NOT NULL, 
	iso_dial VARCHAR NOT NULL, 
	PRIMARY KEY (id)
);
CREATE TABLE filters (
	id VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	notes VARCHAR NOT NULL, 
	retired BOOLEAN NOT NULL, 
	created_at DATETIME NOT NULL, 
	kind VARCHAR NOT NULL, 
	fits VARCHAR NOT NULL, 
	loss_stops FLOAT, 
	shift_mired FLOAT NOT NULL, 
	PRIMARY KEY (id)
);
CREATE TABLE lenses (
	id VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	notes VARCHAR NOT NULL, 
	retired BOOLEAN NOT NULL, 
	created_at DATETIME NOT NULL, 
	shortest_focal_mm FLOAT NOT NULL, 
	longest_focal_mm FLOAT NOT NULL, 
	widest_f_number FLOAT NOT NULL, 
	smallest_f_number FLOAT NOT NULL, 
	f_number_dial VARCHAR NOT NULL, 
	greatest_magnification FLOAT, 
	pupil_ratio FLOAT NOT NULL, 
	records VARCHAR NOT NULL, 
	PRIMARY KEY (id)
);
CREATE TABLE lights (
	id VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	notes VARCHAR NOT NULL, 
	retired BOOLEAN NOT NULL, 
	created_at DATETIME NOT NULL, 
	kind VARCHAR NOT NULL, 
	form VARCHAR NOT NULL, 
	full_energy_j FLOAT, 
	lowest_power_stops FLOAT NOT NULL, 
	step_stops FLOAT NOT NULL, 
	marking VARCHAR NOT NULL, 
	full_number FLOAT NOT NULL, 
	stops_per_number FLOAT NOT NULL, 
	outer_diameter_mm FLOAT, 
	inner_diameter_mm FLOAT, 
	recycle_s FLOAT, 
	t_half_s FLOAT, 
	kelvin FLOAT, guide_number_m FLOAT, guide_reflector VARCHAR DEFAULT '' NOT NULL, 
	PRIMARY KEY (id)
);
CREATE TABLE modifiers (
	id VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	notes VARCHAR NOT NULL, 
	retired BOOLEAN NOT NULL, 
	created_at DATETIME NOT NULL, 
	shape VARCHAR NOT NULL, 
	width_mm FLOAT, 
	height_mm FLOAT, 
	inner_diameter_mm FLOAT, 
	loss_stops FLOAT, 
	diffuses BOOLEAN NOT NULL, 
	PRIMARY KEY (id)
);
CREATE TABLE save_keys (
	"key" VARCHAR NOT NULL, 
	body VARCHAR NOT NULL, 
	answer VARCHAR NOT NULL, 
	at DATETIME NOT NULL, 
	PRIMARY KEY ("key")
);
CREATE TABLE sessions (
	id VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	day DATE NOT NULL, 
	zone VARCHAR NOT NULL, 
	place VARCHAR NOT NULL, 
	made_for VARCHAR NOT NULL, 
	brief VARCHAR NOT NULL, 
	notes VARCHAR NOT NULL, 
	created_at DATETIME NOT NULL, 
	PRIMARY KEY (id)
);
CREATE TABLE meter_readings (
	id VARCHAR NOT NULL, 
	light_id VARCHAR NOT NULL, 
	modifier_id VARCHAR, 
	mark VARCHAR NOT NULL, 
	av FLOAT NOT NULL, 
	power_stops FLOAT NOT NULL, 
	distance_mm FLOAT NOT NULL, 
	read_at DATETIME NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(light_id) REFERENCES lights (id), 
	FOREIGN KEY(modifier_id) REFERENCES modifiers (id)
);
CREATE TABLE shots (
	id VARCHAR NOT NULL, 
	session_id VARCHAR NOT NULL, 
	number INTEGER NOT NULL, 
	title VARCHAR NOT NULL, 
	subject VARCHAR NOT NULL, 
	subject_types VARCHAR NOT NULL, 
	surface VARCHAR NOT NULL, 
	look VARCHAR NOT NULL, 
	subject_is_static BOOLEAN NOT NULL, 
	wanted_depth_mm FLOAT, 
	on_set BOOLEAN NOT NULL, 
	reference_frame_id VARCHAR, 
	created_at DATETIME NOT NULL, closed_at DATETIME, 
	PRIMARY KEY (id), 
	CONSTRAINT shot_reference_frame FOREIGN KEY(reference_frame_id) REFERENCES frames (id), 
	FOREIGN KEY(session_id) REFERENCES sessions (id), 
	UNIQUE (session_id, number)
);
CREATE TABLE frames (
	id VARCHAR NOT NULL, 
	shot_id VARCHAR NOT NULL, 
	number INTEGER NOT NULL, 
	purpose VARCHAR NOT NULL, 
	because VARCHAR NOT NULL, 
	notes VARCHAR NOT NULL, 
	verdict VARCHAR NOT NULL, 
	set_up VARCHAR NOT NULL, 
	set_values VARCHAR NOT NULL, 
	file_values VARCHAR NOT NULL, 
	ledger VARCHAR NOT NULL, 
	lit VARCHAR NOT NULL, 
	taken_back BOOLEAN NOT NULL, 
	revision INTEGER NOT NULL, 
	logged_at DATETIME NOT NULL, evidence VARCHAR DEFAULT '{}' NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(shot_id) REFERENCES shots (id), 
	UNIQUE (shot_id, number)
);
CREATE TABLE notices (
	id VARCHAR NOT NULL, 
	shot_id VARCHAR NOT NULL, 
	text VARCHAR NOT NULL, 
	at DATETIME NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(shot_id) REFERENCES shots (id)
);
CREATE TABLE standing (
	shot_id VARCHAR NOT NULL, 
	set_up VARCHAR NOT NULL, 
	versions VARCHAR NOT NULL, 
	kept VARCHAR, 
	purpose VARCHAR NOT NULL, 
	because VARCHAR NOT NULL, 
	says VARCHAR NOT NULL, 
	changed_at DATETIME NOT NULL, moves VARCHAR DEFAULT '[]' NOT NULL, 
	PRIMARY KEY (shot_id), 
	FOREIGN KEY(shot_id) REFERENCES shots (id)
);
CREATE TABLE frame_revisions (
	id VARCHAR NOT NULL, 
	frame_id VARCHAR NOT NULL, 
	revision INTEGER NOT NULL, 
	document VARCHAR NOT NULL, 
	what VARCHAR NOT NULL, 
	made_at DATETIME NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(frame_id) REFERENCES frames (id), 
	UNIQUE (frame_id, revision)
);
CREATE TABLE pictures (
	id VARCHAR NOT NULL, 
	frame_id VARCHAR NOT NULL, 
	digest VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	kind VARCHAR NOT NULL, 
	size_bytes INTEGER NOT NULL, 
	facts VARCHAR NOT NULL, 
	exposure_key VARCHAR NOT NULL, 
	preview VARCHAR NOT NULL, 
	trouble VARCHAR NOT NULL, 
	arrived_at DATETIME NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(frame_id) REFERENCES frames (id), 
	UNIQUE (digest)
);
CREATE TABLE patches (
	id VARCHAR NOT NULL, 
	shot_id VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	x FLOAT NOT NULL, 
	y FLOAT NOT NULL, 
	width FLOAT NOT NULL, 
	height FLOAT NOT NULL, 
	wanted_stops FLOAT NOT NULL, 
	place INTEGER NOT NULL, 
	retired BOOLEAN NOT NULL, 
	created_at DATETIME NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(shot_id) REFERENCES shots (id)
);
CREATE TABLE readings (
	id VARCHAR NOT NULL, 
	picture_id VARCHAR NOT NULL, 
	patch_id VARCHAR, 
	document VARCHAR NOT NULL, 
	trouble VARCHAR NOT NULL, 
	measured_at DATETIME NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(picture_id) REFERENCES pictures (id), 
	FOREIGN KEY(patch_id) REFERENCES patches (id), 
	UNIQUE (picture_id, patch_id)
);
CREATE TABLE learned (
	subject VARCHAR NOT NULL, 
	document VARCHAR NOT NULL, 
	learned_at DATETIME NOT NULL, 
	PRIMARY KEY (subject)
);
CREATE TABLE mixtures (
	id VARCHAR NOT NULL, 
	shot_id VARCHAR NOT NULL, 
	name VARCHAR NOT NULL, 
	kept_for VARCHAR NOT NULL, 
	weights VARCHAR NOT NULL, 
	frames VARCHAR NOT NULL, 
	created_at DATETIME NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(shot_id) REFERENCES shots (id)
);
CREATE TABLE recipes (
	id VARCHAR NOT NULL, 
	shot_id VARCHAR, 
	created_at DATETIME NOT NULL, identity VARCHAR DEFAULT '' NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(shot_id) REFERENCES shots (id)
);
CREATE TABLE recipe_versions (
	id VARCHAR NOT NULL, 
	recipe_id VARCHAR NOT NULL, 
	number INTEGER NOT NULL, 
	document VARCHAR NOT NULL, 
	differs VARCHAR NOT NULL, 
	frame_id VARCHAR, 
	published_at DATETIME NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE (recipe_id, number), 
	FOREIGN KEY(recipe_id) REFERENCES recipes (id), 
	FOREIGN KEY(frame_id) REFERENCES frames (id)
);
CREATE TABLE recipe_lines (
	"key" INTEGER NOT NULL, 
	recipe_id VARCHAR NOT NULL, 
	title VARCHAR NOT NULL, 
	subject VARCHAR NOT NULL, 
	terms VARCHAR NOT NULL, 
	kit VARCHAR NOT NULL, 
	words VARCHAR NOT NULL, 
	made_on DATE NOT NULL, 
	f_number FLOAT, 
	magnification FLOAT, 
	energy_j FLOAT, 
	nearest_mm FLOAT, 
	stack_frames INTEGER, 
	light_count INTEGER NOT NULL, 
	measured INTEGER NOT NULL, 
	picture VARCHAR NOT NULL, 
	vector VARCHAR NOT NULL, marks VARCHAR DEFAULT '' NOT NULL, flash_count INTEGER DEFAULT '0' NOT NULL, ring_count INTEGER DEFAULT '0' NOT NULL, continuous_count INTEGER DEFAULT '0' NOT NULL, face_sizes BIGINT, strip_sizes BIGINT, field_mm FLOAT, 
	PRIMARY KEY ("key"), 
	UNIQUE (recipe_id), 
	FOREIGN KEY(recipe_id) REFERENCES recipes (id)
);
CREATE TABLE vocabulary (
	id VARCHAR NOT NULL, 
	facet VARCHAR NOT NULL, 
	term VARCHAR NOT NULL, 
	others VARCHAR NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE (facet, term)
);
CREATE TABLE links (
	token VARCHAR NOT NULL, 
	version_id VARCHAR NOT NULL, 
	reader VARCHAR NOT NULL, 
	figures BOOLEAN NOT NULL, 
	words VARCHAR NOT NULL, 
	expires_at DATETIME, 
	withdrawn_at DATETIME, 
	views INTEGER NOT NULL, 
	made_at DATETIME NOT NULL, kit_names BOOLEAN DEFAULT 0 NOT NULL, 
	PRIMARY KEY (token), 
	FOREIGN KEY(version_id) REFERENCES recipe_versions (id)
);
CREATE TABLE reshoots (
	shot_id VARCHAR NOT NULL, 
	version_id VARCHAR NOT NULL, 
	target VARCHAR NOT NULL, 
	left_open VARCHAR NOT NULL, 
	begun_at DATETIME NOT NULL, 
	PRIMARY KEY (shot_id), 
	FOREIGN KEY(shot_id) REFERENCES shots (id), 
	FOREIGN KEY(version_id) REFERENCES recipe_versions (id)
);
CREATE TABLE checklist_lines (
	id VARCHAR NOT NULL, 
	shot_id VARCHAR NOT NULL, 
	place INTEGER NOT NULL, 
	heading VARCHAR NOT NULL, 
	words VARCHAR NOT NULL, 
	ticked_at DATETIME, 
	PRIMARY KEY (id), 
	UNIQUE (shot_id, place), 
	FOREIGN KEY(shot_id) REFERENCES reshoots (shot_id)
);
CREATE TABLE open_pages (
	token VARCHAR NOT NULL, 
	session_id VARCHAR NOT NULL, 
	title VARCHAR NOT NULL, 
	because BOOLEAN NOT NULL, 
	kit_names BOOLEAN NOT NULL, 
	expires_at DATETIME, 
	withdrawn_at DATETIME, 
	views INTEGER NOT NULL, 
	made_at DATETIME NOT NULL, 
	PRIMARY KEY (token), 
	FOREIGN KEY(session_id) REFERENCES sessions (id)
);
CREATE VIRTUAL TABLE recipe_words USING fts5(title, subject, terms, kit, words, marks, content='recipe_lines', content_rowid='key', tokenize='unicode61 remove_diacritics 2');
CREATE VIRTUAL TABLE recipe_vocabulary USING fts5vocab('recipe_words', 'row');
CREATE TABLE known_words (
	number INTEGER NOT NULL, 
	word VARCHAR NOT NULL, 
	PRIMARY KEY (number), 
	UNIQUE (word)
);
CREATE TABLE tape (
	id INTEGER NOT NULL, 
	inches BOOLEAN NOT NULL, 
	PRIMARY KEY (id)
);
INSERT INTO alembic_version VALUES ('0013');
INSERT INTO cameras VALUES ('01a223a1-60ad-76f6-b73a-b55556e3d38a','Camera 36 × 24','',0,'2026-11-28 19:28:28.397431',36.0,24.0,6000,4000,'1/200',100.0,25600.0,'third','third');
INSERT INTO cameras VALUES ('01a223a1-60ed-70d3-83f0-1b29ee9a0e57','Camera 23.5 × 15.6','',0,'2026-11-28 19:28:28.397978',23.5,15.6,6000,4000,'1/160',100.0,12800.0,'third','third');
INSERT INTO cameras VALUES ('01a223a1-60ee-76df-8d00-34f1af47c4a9','Camera 44 × 33','',0,'2026-11-28 19:28:28.398155',43.8,32.9,8272,6200,'1/125',100.0,12800.0,'third','third');
INSERT INTO filters VALUES ('01a223a1-60f6-7384-916d-3d99a967bfa3','ND 0.3 sheet','',0,'2026-11-28 19:28:28.406612','neutral','light',9.96578428466208587899e-01,0.0);
INSERT INTO filters VALUES ('01a223a1-60f6-7384-916d-3d9a2c33baa2','ND 0.6 sheet','',0,'2026-11-28 19:28:28.406903','neutral','light',1.99315685693241717579e+00,0.0);
INSERT INTO filters VALUES ('01a223a1-60f6-7384-916d-3d9b3cac3f6a','ND 0.9 sheet','',0,'2026-11-28 19:28:28.407130','neutral','light',2.98973528539862609676e+00,0.0);
INSERT INTO filters VALUES ('01a223a1-60f7-70a5-ae03-55a1a088d7b6','diffusing sheet','',0,'2026-11-28 19:28:28.407346','diffusion','light',1.0,0.0);
INSERT INTO filters VALUES ('01a223a1-60f7-70a5-ae03-55a21e666544','screw-in ND 0.6','',0,'2026-11-28 19:28:28.407574','neutral','lens',1.99315685693241717579e+00,0.0);
INSERT INTO filters VALUES ('01a223a1-60f7-70a5-ae03-55a35d2f8eb4','screw-in ND 0.9','',0,'2026-11-28 19:28:28.407803','neutral','lens',2.98973528539862609676e+00,0.0);
INSERT INTO filters VALUES ('01a223a1-60f7-70a5-ae03-55a4fd81885a','polarising sheet','',0,'2026-11-28 19:28:28.408041','polariser','light',1.4,0.0);
INSERT INTO filters VALUES ('01a223a1-60f8-776e-ba2a-2767baa27e97','lens polariser, crossed','',0,'2026-11-28 19:28:28.408278','polariser','lens',1.5,0.0);
INSERT INTO filters VALUES ('01a223a1-60f8-776e-ba2a-2768b4f9c3ce','quarter orange gel','',0,'2026-11-28 19:28:28.408528','gel','light',0.3,64.0);
INSERT INTO filters VALUES ('01a223a1-60f8-776e-ba2a-2769cbbfa84f','half orange gel','',0,'2026-11-28 19:28:28.412954','gel','light',0.5,109.0);
INSERT INTO filters VALUES ('01a223a1-60fd-7369-a008-2b12058ca799','full orange gel','',0,'2026-11-28 19:28:28.413226','gel','light',0.7,159.0);
INSERT INTO lenses VALUES ('01a223a1-60ee-76df-8d00-34f2efd49da3','100 mm macro','',0,'2026-11-28 19:28:28.398340',100.0,100.0,2.8,32.0,'third',1.0,1.0,'marked');
INSERT INTO lenses VALUES ('01a223a1-60ee-76df-8d00-34f3b2b07b07','50 mm','',0,'2026-11-28 19:28:28.398605',50.0,50.0,1.8,22.0,'third',0.15,1.0,'marked');
INSERT INTO lenses VALUES ('01a223a1-60ee-76df-8d00-34f4776dd037','24–70 mm zoom','',0,'2026-11-28 19:28:28.398745',24.0,70.0,2.8,22.0,'third',0.25,1.0,'marked');
INSERT INTO lights VALUES ('01a223a1-60ee-76df-8d00-34f5c6f3ca28','monolight 400 J','',0,'2026-11-28 19:28:28.399053','flash','head',400.0,-6.0,0.1,'joules',10.0,1.0,NULL,NULL,1.5,0.00125,5500.0,NULL,'');
INSERT INTO lights VALUES ('01a223a1-60ef-70f2-b35d-429e2598c3d7','monolight 200 J','',0,'2026-11-28 19:28:28.399582','flash','head',200.0,-6.0,0.1,'joules',10.0,1.0,NULL,NULL,1.0,8.3333333333333338682e-04,5500.0,NULL,'');
INSERT INTO lights VALUES ('01a223a1-60ef-70f2-b35d-429fb7f35440','ring flash 400 J','',0,'2026-11-28 19:28:28.399897','flash','ring',400.0,-6.0,0.1,'joules',10.0,1.0,130.0,90.0,2.0,NULL,5500.0,NULL,'');
INSERT INTO lights VALUES ('01a223a1-60f0-73eb-af1d-745f99cd0280','small flash','',0,'2026-11-28 19:28:28.400213','flash','head',NULL,-7.0,3.33333333333333314829e-01,'fraction',10.0,1.0,NULL,NULL,2.5,0.001,5600.0,NULL,'');
INSERT INTO lights VALUES ('01a223a1-60f0-73eb-af1d-74602e54a05f','LED panel','',0,'2026-11-28 19:28:28.400515','continuous','head',NULL,-6.0,0.1,'fraction',10.0,1.0,NULL,NULL,NULL,NULL,5600.0,NULL,'');
INSERT INTO modifiers VALUES ('01a223a1-60f4-71f7-9e28-4b6aff2805d9','standard reflector','',0,'2026-11-28 19:28:28.404950','point',180.0,NULL,NULL,0.0,0);
INSERT INTO modifiers VALUES ('01a223a1-60f5-7185-93fb-3724eadfd3ee','honeycomb grid','',0,'2026-11-28 19:28:28.405274','point',180.0,NULL,NULL,1.3,0);
INSERT INTO modifiers VALUES ('01a223a1-60f5-7185-93fb-37258b81c396','snoot','',0,'2026-11-28 19:28:28.405451','point',60.0,NULL,NULL,1.7,0);
INSERT INTO modifiers VALUES ('01a223a1-60f5-7185-93fb-372697ff958c','softbox 60 × 60 cm','',0,'2026-11-28 19:28:28.405643','rectangle',600.0,600.0,NULL,1.7,1);
INSERT INTO modifiers VALUES ('01a223a1-60f5-7185-93fb-37273979d254','strip softbox 30 × 120 cm','',0,'2026-11-28 19:28:28.405843','rectangle',300.0,1200.0,NULL,2.0,1);
INSERT INTO modifiers VALUES ('01a223a1-60f5-7185-93fb-3728c356eab1','octagon 90 cm','',0,'2026-11-28 19:28:28.406061','disc',900.0,NULL,NULL,1.8,1);
INSERT INTO modifiers VALUES ('01a223a1-60f6-7384-916d-3d98e8110834','shoot-through umbrella 100 cm','',0,'2026-11-28 19:28:28.406288','disc',1000.0,NULL,NULL,1.5,1);
INSERT INTO sessions VALUES ('01a223a1-61e1-7762-8167-7c91ec2b236a','bench day','2026-11-28','UTC','','','','','2026-11-28 19:28:28.641228');
INSERT INTO shots VALUES ('01a223a1-6246-7168-b8d3-e014f4bc2bd4','01a223a1-61e1-7762-8167-7c91ec2b236a',1,'enamel dial','','','','',1,NULL,1,'01a223a1-62bb-7044-8d68-6f4d15437446','2026-11-28 19:28:28.742524',NULL);
INSERT INTO frames VALUES ('01a223a1-62bb-7044-8d68-6f4d15437446','01a223a1-6246-7168-b8d3-e014f4bc2bd4',1,'test','the first','','','{"camera":{"id":"01a223a1-60ad-76f6-b73a-b55556e3d38a","name":"Camera 36 × 24","sensor_width_mm":36.0,"sensor_height_mm":24.0,"width_px":6000,"height_px":4000,"sync_mark":"1/200","sync_tv":7.666666666666667,"lowest_iso":100.0,"highest_iso":25600.0,"shutter_dial":"third","iso_dial":"third"},"lens":{"id":"01a223a1-60ee-76df-8d00-34f2efd49da3","name":"100 mm macro","shortest_focal_mm":100.0,"longest_focal_mm":100.0,"widest_f_number":2.8,"smallest_f_number":32.0,"greatest_magnification":1.0,"pupil_ratio":1.0,"f_number_dial":"third","records":"marked"},"f_number":{"quantity":"f_number","text":"8","stops":6.0,"dial":"third"},"shutter":{"quantity":"shutter","text":"1/125","stops":7.0,"dial":"third"},"iso":{"quantity":"iso","text":"100","stops":0.0,"dial":"third"},"focal_length_mm":100.0,"magnification":0.0,"magnification_estimated":false,"subject_distance_mm":null,"lens_filters":[],"pops":1,"lights":[{"letter":"A","role":"key","head":{"id":"01a223a1-60ee-76df-8d00-34f5c6f3ca28","name":"monolight 400 J","kind":"flash","form":"head","full_energy_j":400.0,"lowest_power_stops":-6.0,"step_stops":0.1,"marking":"joules","full_number":10.0,"stops_per_number":1.0,"face":{"shape":"point","width_mm":null,"height_mm":null,"inner_diameter_mm":null},"recycle_s":1.5,"t_half_s":0.00125,"kelvin":5500.0,"learned_slope":1.0,"learned_from":0,"spread_stops":null,"guide_number_m":null,"guide_reflector":""},"modifier":null,"filters":[],"lit":true,"modelling_lamp":false,"power_stops":-6.0,"distance_mm":null,"incident":null,"intended_stops":0.0,"position":null}],"things":[]}','{}','{}','{"lights":[{"acts_on":"A","name":"key A","lit":true,"stops":0.0,"against":"frame 1","target_stops":0.0,"entries":[],"metered":false}],"ambient":{"acts_on":"ambient","name":"ambient","lit":true,"stops":0.0,"against":"frame 1","target_stops":0.0,"entries":[],"metered":false},"since_previous":null,"previous_number":null,"switched":[],"reference_number":1,"total_stops":0.0,"total_words":"all lit lights moved alike","corrections":[],"notes":[{"about":"A","text":"The distance of key A is unknown on both sides and taken as unchanged."}],"stand_in":""}','A',0,1,'2026-11-28 19:28:28.860049','{}');
INSERT INTO frames VALUES ('01a223a1-637b-710f-859d-99c7db2bfb76','01a223a1-6246-7168-b8d3-e014f4bc2bd4',2,'test','','a note','','{"camera":{"id":"01a223a1-60ad-76f6-b73a-b55556e3d38a","name":"Camera 36 × 24","sensor_width_mm":36.0,"sensor_height_mm":24.0,"width_px":6000,"height_px":4000,"sync_mark":"1/200","sync_tv":7.666666666666667,"lowest_iso":100.0,"highest_iso":25600.0,"shutter_dial":"third","iso_dial":"third"},"lens":{"id":"01a223a1-60ee-76df-8d00-34f2efd49da3","name":"100 mm macro","shortest_focal_mm":100.0,"longest_focal_mm":100.0,"widest_f_number":2.8,"smallest_f_number":32.0,"greatest_magnification":1.0,"pupil_ratio":1.0,"f_number_dial":"third","records":"marked"},"f_number":{"quantity":"f_number","text":"16","stops":8.0,"dial":"third"},"shutter":{"quantity":"shutter","text":"1/125","stops":7.0,"dial":"third"},"iso":{"quantity":"iso","text":"200","stops":1.0,"dial":"third"},"focal_length_mm":100.0,"magnification":0.0,"magnification_estimated":false,"subject_distance_mm":null,"lens_filters":[],"pops":1,"lights":[{"letter":"A","role":"key","head":{"id":"01a223a1-60ee-76df-8d00-34f5c6f3ca28","name":"monolight 400 J","kind":"flash","form":"head","full_energy_j":400.0,"lowest_power_stops":-6.0,"step_stops":0.1,"marking":"joules","full_number":10.0,"stops_per_number":1.0,"face":{"shape":"point","width_mm":null,"height_mm":null,"inner_diameter_mm":null},"recycle_s":1.5,"t_half_s":0.00125,"kelvin":5500.0,"learned_slope":1.0,"learned_from":0,"spread_stops":null,"guide_number_m":null,"guide_reflector":""},"modifier":null,"filters":[],"lit":true,"modelling_lamp":false,"power_stops":-6.0,"distance_mm":null,"incident":null,"intended_stops":0.0,"position":null}],"things":[]}','{}','{}','{"lights":[{"acts_on":"A","name":"key A","lit":true,"stops":-1.0,"against":"frame 1","target_stops":0.0,"entries":[{"cause":"aperture","acts_on":"A","stops":-2.0,"was":"f/8","now":"f/16","given":[8.0,16.0]},{"cause":"iso","acts_on":"A","stops":1.0,"was":"ISO 100","now":"ISO 200","given":[100.0,200.0]}],"metered":false}],"ambient":{"acts_on":"ambient","name":"ambient","lit":true,"stops":-1.0,"against":"frame 1","target_stops":0.0,"entries":[{"cause":"aperture","acts_on":"ambient","stops":-2.0,"was":"f/8","now":"f/16","given":[8.0,16.0]},{"cause":"iso","acts_on":"ambient","stops":1.0,"was":"ISO 100","now":"ISO 200","given":[100.0,200.0]}],"metered":false},"since_previous":{"entries":[{"cause":"aperture","acts_on":"A","stops":-2.0,"was":"f/8","now":"f/16","given":[8.0,16.0]},{"cause":"iso","acts_on":"A","stops":1.0,"was":"ISO 100","now":"ISO 200","given":[100.0,200.0]},{"cause":"aperture","acts_on":"ambient","stops":-2.0,"was":"f/8","now":"f/16","given":[8.0,16.0]},{"cause":"iso","acts_on":"ambient","stops":1.0,"was":"ISO 100","now":"ISO 200","given":[100.0,200.0]}],"balances":{"A":-1.0,"ambient":-1.0},"notes":[{"about":"A","text":"The distance of key A is unknown on both sides and taken as unchanged."}]},"previous_number":1,"switched":[],"reference_number":1,"total_stops":-1.0,"total_words":"all lit lights moved alike","corrections":[],"notes":[{"about":"A","text":"The distance of key A is unknown on both sides and taken as unchanged."}],"stand_in":""}','A',0,2,'2026-11-28 19:28:29.051155','{}');
INSERT INTO frames VALUES ('01a223a1-63b5-74d4-b885-c16b89a5e181','01a223a1-6246-7168-b8d3-e014f4bc2bd4',3,'test','','','','{"camera":{"id":"01a223a1-60ad-76f6-b73a-b55556e3d38a","name":"Camera 36 × 24","sensor_width_mm":36.0,"sensor_height_mm":24.0,"width_px":6000,"height_px":4000,"sync_mark":"1/200","sync_tv":7.666666666666667,"lowest_iso":100.0,"highest_iso":25600.0,"shutter_dial":"third","iso_dial":"third"},"lens":{"id":"01a223a1-60ee-76df-8d00-34f2efd49da3","name":"100 mm macro","shortest_focal_mm":100.0,"longest_focal_mm":100.0,"widest_f_number":2.8,"smallest_f_number":32.0,"greatest_magnification":1.0,"pupil_ratio":1.0,"f_number_dial":"third","records":"marked"},"f_number":{"quantity":"f_number","text":"16","stops":8.0,"dial":"third"},"shutter":{"quantity":"shutter","text":"1/125","stops":7.0,"dial":"third"},"iso":{"quantity":"iso","text":"100","stops":0.0,"dial":"third"},"focal_length_mm":100.0,"magnification":0.0,"magnification_estimated":false,"subject_distance_mm":null,"lens_filters":[],"pops":1,"lights":[{"letter":"A","role":"key","head":{"id":"01a223a1-60ee-76df-8d00-34f5c6f3ca28","name":"monolight 400 J","kind":"flash","form":"head","full_energy_j":400.0,"lowest_power_stops":-6.0,"step_stops":0.1,"marking":"joules","full_number":10.0,"stops_per_number":1.0,"face":{"shape":"point","width_mm":null,"height_mm":null,"inner_diameter_mm":null},"recycle_s":1.5,"t_half_s":0.00125,"kelvin":5500.0,"learned_slope":1.0,"learned_from":0,"spread_stops":null,"guide_number_m":null,"guide_reflector":""},"modifier":null,"filters":[],"lit":true,"modelling_lamp":false,"power_stops":-6.0,"distance_mm":900.0,"incident":null,"intended_stops":0.0,"position":null}],"things":[]}','{}','{}','{"lights":[{"acts_on":"A","name":"key A","lit":true,"stops":null,"against":"frame 1","target_stops":0.0,"entries":[{"cause":"aperture","acts_on":"A","stops":-2.0,"was":"f/8","now":"f/16","given":[8.0,16.0]},{"cause":"distance","acts_on":"A","stops":null,"was":"unknown","now":"90 cm","given":[null,900.0]}],"metered":false}],"ambient":{"acts_on":"ambient","name":"ambient","lit":true,"stops":-2.0,"against":"frame 1","target_stops":0.0,"entries":[{"cause":"aperture","acts_on":"ambient","stops":-2.0,"was":"f/8","now":"f/16","given":[8.0,16.0]}],"metered":false},"since_previous":{"entries":[{"cause":"iso","acts_on":"A","stops":-1.0,"was":"ISO 200","now":"ISO 100","given":[200.0,100.0]},{"cause":"distance","acts_on":"A","stops":null,"was":"unknown","now":"90 cm","given":[null,900.0]},{"cause":"iso","acts_on":"ambient","stops":-1.0,"was":"ISO 200","now":"ISO 100","given":[200.0,100.0]}],"balances":{"A":null,"ambient":-1.0},"notes":[{"about":"A","text":"No balance for key A: its distance is known on one side only."}]},"previous_number":2,"switched":[],"reference_number":1,"total_stops":null,"total_words":"No total: the balance of key A is unknown.","corrections":[],"notes":[{"about":"A","text":"No balance for key A: its distance is known on one side only."}],"stand_in":""}','A',0,1,'2026-11-28 19:28:29.110014','{}');
INSERT INTO standing VALUES ('01a223a1-6246-7168-b8d3-e014f4bc2bd4','{"camera":{"id":"01a223a1-60ad-76f6-b73a-b55556e3d38a","name":"Camera 36 × 24","sensor_width_mm":36.0,"sensor_height_mm":24.0,"width_px":6000,"height_px":4000,"sync_mark":"1/200","sync_tv":7.666666666666667,"lowest_iso":100.0,"highest_iso":25600.0,"shutter_dial":"third","iso_dial":"third"},"lens":{"id":"01a223a1-60ee-76df-8d00-34f2efd49da3","name":"100 mm macro","shortest_focal_mm":100.0,"longest_focal_mm":100.0,"widest_f_number":2.8,"smallest_f_number":32.0,"greatest_magnification":1.0,"pupil_ratio":1.0,"f_number_dial":"third","records":"marked"},"f_number":{"quantity":"f_number","text":"16","stops":8.0,"dial":"third"},"shutter":{"quantity":"shutter","text":"1/125","stops":7.0,"dial":"third"},"iso":{"quantity":"iso","text":"100","stops":0.0,"dial":"third"},"focal_length_mm":100.0,"magnification":0.0,"magnification_estimated":false,"subject_distance_mm":null,"lens_filters":[],"pops":1,"lights":[{"letter":"A","role":"key","head":{"id":"01a223a1-60ee-76df-8d00-34f5c6f3ca28","name":"monolight 400 J","kind":"flash","form":"head","full_energy_j":400.0,"lowest_power_stops":-6.0,"step_stops":0.1,"marking":"joules","full_number":10.0,"stops_per_number":1.0,"face":{"shape":"point","width_mm":null,"height_mm":null,"inner_diameter_mm":null},"recycle_s":1.5,"t_half_s":0.00125,"kelvin":5500.0,"learned_slope":1.0,"learned_from":0,"spread_stops":null,"guide_number_m":null,"guide_reflector":""},"modifier":null,"filters":[],"lit":true,"modelling_lamp":false,"power_stops":-6.0,"distance_mm":900.0,"incident":null,"intended_stops":0.0,"position":null}],"things":[]}','{"f_number": 1, "lights.A.distance": 1, "lights.A.position": 1}',NULL,'test','','','2026-11-28 19:28:29.111756','[]');
INSERT INTO frame_revisions VALUES ('01a223a1-63d6-75a2-8837-5c53d80b0044','01a223a1-637b-710f-859d-99c7db2bfb76',1,'{"purpose": "test", "because": "", "notes": "", "verdict": "", "set_up": "{\"camera\":{\"id\":\"01a223a1-60ad-76f6-b73a-b55556e3d38a\",\"name\":\"Camera 36 \u00d7 24\",\"sensor_width_mm\":36.0,\"sensor_height_mm\":24.0,\"width_px\":6000,\"height_px\":4000,\"sync_mark\":\"1/200\",\"sync_tv\":7.666666666666667,\"lowest_iso\":100.0,\"highest_iso\":25600.0,\"shutter_dial\":\"third\",\"iso_dial\":\"third\"},\"lens\":{\"id\":\"01a223a1-60ee-76df-8d00-34f2efd49da3\",\"name\":\"100 mm macro\",\"shortest_focal_mm\":100.0,\"longest_focal_mm\":100.0,\"widest_f_number\":2.8,\"smallest_f_number\":32.0,\"greatest_magnification\":1.0,\"pupil_ratio\":1.0,\"f_number_dial\":\"third\",\"records\":\"marked\"},\"f_number\":{\"quantity\":\"f_number\",\"text\":\"16\",\"stops\":8.0,\"dial\":\"third\"},\"shutter\":{\"quantity\":\"shutter\",\"text\":\"1/125\",\"stops\":7.0,\"dial\":\"third\"},\"iso\":{\"quantity\":\"iso\",\"text\":\"100\",\"stops\":0.0,\"dial\":\"third\"},\"focal_length_mm\":100.0,\"magnification\":0.0,\"magnification_estimated\":false,\"subject_distance_mm\":null,\"lens_filters\":[],\"pops\":1,\"lights\":[{\"letter\":\"A\",\"role\":\"key\",\"head\":{\"id\":\"01a223a1-60ee-76df-8d00-34f5c6f3ca28\",\"name\":\"monolight 400 J\",\"kind\":\"flash\",\"form\":\"head\",\"full_energy_j\":400.0,\"lowest_power_stops\":-6.0,\"step_stops\":0.1,\"marking\":\"joules\",\"full_number\":10.0,\"stops_per_number\":1.0,\"face\":{\"shape\":\"point\",\"width_mm\":null,\"height_mm\":null,\"inner_diameter_mm\":null},\"recycle_s\":1.5,\"t_half_s\":0.00125,\"kelvin\":5500.0,\"learned_slope\":1.0,\"learned_from\":0,\"spread_stops\":null,\"guide_number_m\":null,\"guide_reflector\":\"\"},\"modifier\":null,\"filters\":[],\"lit\":true,\"modelling_lamp\":false,\"power_stops\":-6.0,\"distance_mm\":null,\"incident\":null,\"intended_stops\":0.0,\"position\":null}],\"things\":[]}", "set_values": "{}", "file_values": "{}", "taken_back": false, "lit": "A"}','changed iso, notes','2026-11-28 19:28:29.142555');
CREATE INDEX ix_meter_readings_light_id ON meter_readings (light_id);
CREATE INDEX ix_shots_session_id ON shots (session_id);
CREATE UNIQUE INDEX only_one_shot_on_the_set ON shots (on_set) WHERE on_set = 1;
CREATE INDEX ix_frames_shot_id ON frames (shot_id);
CREATE INDEX ix_notices_shot_id ON notices (shot_id);
CREATE INDEX ix_frame_revisions_frame_id ON frame_revisions (frame_id);
CREATE INDEX ix_pictures_exposure_key ON pictures (exposure_key);
CREATE INDEX ix_pictures_frame_id ON pictures (frame_id);
CREATE INDEX ix_patches_shot_id ON patches (shot_id);
CREATE INDEX ix_readings_picture_id ON readings (picture_id);
CREATE INDEX ix_readings_patch_id ON readings (patch_id);
CREATE INDEX read_frames ON frames (shot_id, lit, number) WHERE evidence <> '{}';
CREATE INDEX ix_mixtures_shot_id ON mixtures (shot_id);
CREATE INDEX ix_recipes_shot_id ON recipes (shot_id);
CREATE INDEX ix_recipe_versions_recipe_id ON recipe_versions (recipe_id);
CREATE INDEX ix_recipe_lines_made_on ON recipe_lines (made_on);
CREATE INDEX ix_vocabulary_facet ON vocabulary (facet);
CREATE INDEX ix_links_version_id ON links (version_id);
CREATE INDEX ix_reshoots_version_id ON reshoots (version_id);
CREATE INDEX ix_checklist_lines_shot_id ON checklist_lines (shot_id);
CREATE INDEX ix_open_pages_session_id ON open_pages (session_id);
CREATE INDEX ix_recipes_identity ON recipes (identity);
CREATE INDEX recipe_figures ON recipe_lines ("key", f_number, magnification, energy_j, nearest_mm, stack_frames, light_count, measured, made_on, flash_count, ring_count, continuous_count, face_sizes, strip_sizes, field_mm);
CREATE TRIGGER recipe_words_in AFTER INSERT ON recipe_lines BEGIN INSERT INTO recipe_words(rowid, title, subject, terms, kit, words, marks) VALUES (new.key, new.title, new.subject, new.terms, new.kit, new.words, new.marks); END;
CREATE TRIGGER recipe_words_out AFTER DELETE ON recipe_lines BEGIN INSERT INTO recipe_words(recipe_words, rowid, title, subject, terms, kit, words, marks) VALUES ('delete', old.key, old.title, old.subject, old.terms, old.kit, old.words, old.marks); END;
CREATE TRIGGER recipe_words_anew AFTER UPDATE ON recipe_lines BEGIN INSERT INTO recipe_words(recipe_words, rowid, title, subject, terms, kit, words, marks) VALUES ('delete', old.key, old.title, old.subject, old.terms, old.kit, old.words, old.marks); INSERT INTO recipe_words(rowid, title, subject, terms, kit, words, marks) VALUES (new.key, new.title, new.subject, new.terms, new.kit, new.words, new.marks); END;
