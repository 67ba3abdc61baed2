"""Who says so: every key of a source that a working or a docstring names, with its full citation.

A key is short and lower case. "common-practice" is a fact of the trade that nobody published first;
"from-memory" marks a value that was not looked up; "definition" is arithmetic on a definition.
"""

from __future__ import annotations

from typing import Final

CITATIONS: Final[dict[str, str]] = {
    "definition": "Follows from the definition; no source needed.",
    "common-practice": "Common practice of the trade; no published source.",
    "iso-517": "ISO 517, Photography: apertures and related properties pertaining to photographic lenses. "
    "The series of f-numbers as powers of the square root of two (number of the standard from memory).",
    "iso-516": "ISO 516, Photography: camera shutters, timing. The series of exposure times as powers of two "
    "(number of the standard from memory).",
    "iso-3-r10": "ISO 3, Preferred numbers: series R10, ten steps to the decade, on which the third-stop ISO "
    "marks stand (number of the standard from memory).",
    "cipa-dc-008": "CIPA DC-008 (Exif), Annex C: the APEX relations Av = 2 log2 N, Tv = -log2 t, "
    "Av + Tv = Bv + Sv (clause from memory).",
    "apex": "ASA PH2.5-1960, the additive system of photographic exposure: Ev = Av + Tv = Bv + Sv, with "
    "Sv = log2(S / 3.125); read in encyclopaedia articles on the APEX system.",
    "iso-2720": "ISO 2720:1974, Photography: general purpose photographic exposure meters. Calibration constants "
    "K 10.6 to 13.4, C 240 to 400 (flat receptor) and 320 to 540 (hemisphere); as quoted in the documentation of "
    "average_luminance and average_illuminance in colour-hdri.",
    "iec-61966-2-1": "IEC 61966-2-1, Default RGB colour space: sRGB. The transfer characteristic with 12.92, "
    "0.055, 1.055 and the exponent 2.4.",
    "lighting-ratio": "Encyclopaedia article “Lighting ratio”: key plus fill to fill (200:100 is 3:1, 800:200 is "
    "5:1); an older copy of it has key to fill (800:200 is 4:1).",
    "exposure-series": "P. E. Debevec and J. Malik, Recovering High Dynamic Range Radiance Maps from Photographs (SIGGRAPH "
    "1997): the response curve of a camera from frames of one scene at known exposures, by least squares (from memory). Here "
    "with what each frame is off by among the unknowns, weights by Student's t, and a curve that rises everywhere.",
    "guide-number": "Encyclopaedia article “Guide number”: f-number times distance from the flash, in proportion "
    "to the square root of ISO, of energy and of the number of flashes. The measurement is that of ISO 1230, "
    "Determination of flash guide numbers (clauses not read).",
    "iso-1230": "ISO 1230:1992, Photography: determination of flash guide numbers, f-number times distance in metres at "
    "ISO 100 (the title read on a national adoption of it; clauses not read).",
    "inverse-square": "The inverse-square law for a source small against its distance.",
    "flash-duration": "The pulse shapes worked out from their definition: t0.5 and t0.1 are the times above a half "
    "and a tenth of the peak. “t0.1 is about three times t0.5” is the rule of thumb of a glossary of flash duration.",
    "motion-blur": "Speed across the view times magnification times time; follows from the definition of "
    "magnification.",
    "pupil-dof": "“Derivation of the DOF equations”, toothwalker.org: depth of field and effective f-number with "
    "the pupil magnification.",
    "close-up-increase": "“Exposure increase for closeups”: exposure times (M + 1)²; the same in a textbook "
    "appendix on close-up exposure (Taylor & Francis, 9780080494012, chapter 22).",
    "supplementary-lens": "Supplementary lens before a lens at infinity: no bellows factor to compensate; a question "
    "and answer on the bellows factor with a magnifier lens.",
    "thin-lens": "The lens equation of geometrical optics, 1/f = 1/u + 1/v, with m = v/u.",
    "thin-lens-dof": "Depth of field of a thin lens: hyperfocal distance, near and far limit; as in “Precision "
    "Depth of Field”, mapleprimes.com.",
    "circle-of-confusion": "Diagonal over 1500: common practice; 0.03 mm is usual for 36 x 24 mm.",
    "airy": "The Airy pattern of a circular aperture: first dark ring at the first zero of J1, 3.8317, that is a "
    "diameter of 2.4393 wavelengths times f-number.",
    "largeformat-fstop": "“How to select the f-stop”, largeformatphotography.info, with the table of a magazine "
    "article of 1996: N = sqrt(375 v), blur squared = (v / 2N)² + (N / 750)² in mm (the constants from memory).",
    "equivalence": "Equivalent focal length, f-number and ISO between formats, f k, N k and S k², carried to close "
    "range with the effective f-number; follows from the definitions.",
    "howell": "J. R. Howell, A Catalog of Radiation Heat Transfer Configuration Factors (University of Texas at "
    "Austin, thermalradiation.net), section B: plane element to a disc and to a rectangle in a parallel plane; also "
    "R. Siegel and J. R. Howell, Thermal Radiation Heat Transfer (formulas from memory, checked against integration).",
    "ies-inverse-square": "Illuminating Engineering Society, definition 9.1.1, inverse square law: E = I/d², and "
    "within 1 % for an even source when d is at least five times its largest dimension.",
    "lambert-cosine": "J. H. Lambert, Photometria (1760): the cosine laws of emission and of illumination "
    "(from memory).",
    "euclid-catoptrics": "The law of reflection: the angle of reflection equals the angle of incidence "
    "(in every textbook of optics since Euclid, Catoptrics; from memory).",
    "snell": "W. Snell's law of refraction, n sin θ the same on both sides of a face (in every textbook of optics; "
    "from memory).",
    "hecht": "E. Hecht, Optics, chapter on geometrical optics: spherical mirrors, focal length half the radius "
    "(from memory).",
    "iso-5": "ISO 5 (parts 1 and 2), Photography: optical density, D = log10(1/T) (number of the standard from "
    "memory).",
    "malus": "E.-L. Malus (1809): the light passed by a pair of polarisers goes with the square of the cosine of "
    "the angle between their axes (from memory).",
    "planck": "M. Planck (1900), radiation of a black body; second radiation constant hc/k from the exact constants "
    "of the SI, as CIE 15:2004 asks for 1.4388e-2 m K.",
    "cie-018": "CIE 018:2019, The Basis of Physical Photometry, and ISO/CIE 11664-1: the CIE 1931 standard "
    "observer (the figures as distributed with the colour-science library).",
    "cie-15": "CIE 15:2004, Colorimetry: correlated colour temperature is that of the nearest Planckian radiator in "
    "the (u', 2/3 v') diagram, that is CIE 1960 (u, v), used within 0.05 of the locus; as quoted by Y. Ohno, "
    "Practical Use and Calculation of CCT and Duv, LEUKOS 10 (2014), and CORM 2011.",
    "ansi-c78-377": "ANSI C78.377-2008: Duv, the distance from the Planckian locus in the (u', 2/3 v') diagram, + "
    "above it and - below; as quoted by Y. Ohno, CORM 2011.",
}
