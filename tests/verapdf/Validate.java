import java.io.FileInputStream;
import org.verapdf.gf.foundry.VeraGreenfieldFoundryProvider;
import org.verapdf.pdfa.Foundries;
import org.verapdf.pdfa.flavours.PDFAFlavour;
import org.verapdf.pdfa.results.TestAssertion;
import org.verapdf.pdfa.results.ValidationResult;

/** Arguments: flavour, then files. Per file a line "compliant" or "failed" with its name, then a line per failed check. */
class Validate {
    public static void main(String[] arguments) throws Exception {
        VeraGreenfieldFoundryProvider.initialise();
        PDFAFlavour flavour = PDFAFlavour.byFlavourId(arguments[0]);
        for (int i = 1; i < arguments.length; i++) {
            try (var parser = Foundries.defaultInstance().createParser(new FileInputStream(arguments[i]), flavour)) {
                ValidationResult result = Foundries.defaultInstance().createValidator(flavour, false).validate(parser);
                System.out.println((result.isCompliant() ? "compliant\t" : "failed\t") + arguments[i]);
                for (TestAssertion failure : result.getTestAssertions()) {
                    System.out.println("\t" + failure.getRuleId().getClause() + "-" + failure.getRuleId().getTestNumber()
                        + "\t" + failure.getMessage() + "\t" + failure.getLocation().getContext());
                }
            }
        }
    }
}
