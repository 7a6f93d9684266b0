import java.io.FileInputStream;
import org.verapdf.gf.foundry.VeraGreenfieldFoundryProvider;
import org.verapdf.pdfa.Foundries;
import org.verapdf.pdfa.flavours.PDFAFlavour;
import org.verapdf.pdfa.results.TestAssertion;
import org.verapdf.pdfa.results.ValidationResult;

/** Arguments: flavours with commas, then files. Per file and flavour "compliant" or "failed", then each failed check. */
class Validate {
    public static void main(String[] arguments) throws Exception {
        VeraGreenfieldFoundryProvider.initialise();
        for (int i = 1; i < arguments.length; i++) {
            for (String flavour : arguments[0].split(",")) {
                validate(arguments[i], PDFAFlavour.byFlavourId(flavour));
            }
        }
    }

    static void validate(String file, PDFAFlavour flavour) throws Exception {
        try (var parser = Foundries.defaultInstance().createParser(new FileInputStream(file), flavour)) {
            ValidationResult result = Foundries.defaultInstance().createValidator(flavour, false).validate(parser);
            System.out.println((result.isCompliant() ? "compliant\t" : "failed\t") + file + "\t" + flavour.getId());
            for (TestAssertion failure : result.getTestAssertions()) {
                System.out.println("\t" + failure.getRuleId().getClause() + "-" + failure.getRuleId().getTestNumber()
                    + "\t" + failure.getMessage() + "\t" + failure.getLocation().getContext());
            }
        }
    }
}
