package org.tidemark.report;

import java.io.ByteArrayInputStream;
import java.util.List;
import org.verapdf.gf.foundry.VeraGreenfieldFoundryProvider;
import org.verapdf.pdfa.Foundries;
import org.verapdf.pdfa.PDFAParser;
import org.verapdf.pdfa.PDFAValidator;
import org.verapdf.pdfa.flavours.PDFAFlavour;
import org.verapdf.pdfa.results.TestAssertion;

/** Checks PDF/UA-1 with veraPDF. */
final class Ua {
  static {
    VeraGreenfieldFoundryProvider.initialise();
  }

  private Ua() {}

  /** What is wrong with a PDF by PDF/UA-1. */
  static List<String> faults(byte[] pdf) {
    try (PDFAParser parser =
            Foundries.defaultInstance()
                .createParser(new ByteArrayInputStream(pdf), PDFAFlavour.PDFUA_1);
        PDFAValidator validator =
            Foundries.defaultInstance().createValidator(PDFAFlavour.PDFUA_1, false)) {
      return validator.validate(parser).getTestAssertions().stream()
          .filter(test -> test.getStatus() == TestAssertion.Status.FAILED)
          .map(test -> test.getRuleId().getClause() + ": " + test.getMessage())
          .distinct()
          .toList();
    } catch (Exception e) {
      throw new IllegalStateException(e);
    }
  }
}
