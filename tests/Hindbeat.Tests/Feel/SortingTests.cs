using CsCheck;
using Hindbeat.Feel;

namespace Hindbeat.Tests.Feel;

public class SortingTests
{
    [Fact]
    public void A_selected_quantile_is_the_one_that_sorting_gives() =>
        Gen.Select(Gen.Double[-1, 1].Array[1, 60], Gen.Double[0, 1]).Sample((values, share) =>
        {
            double[] sorted = [.. values.Order()];
            double place = share * (sorted.Length - 1);
            int left = (int)place, right = Math.Min(left + 1, sorted.Length - 1);
            double expected = sorted[left] + ((place - left) * (sorted[right] - sorted[left]));

            Assert.Equal(expected, Sorting.Quantile(values, share), 1e-12);
        }, iter: 500);

    [Fact]
    public void Equal_values_do_not_trap_the_selection() => Assert.Equal(3, Sorting.Quantile(new double[500].Select(_ => 3.0).ToArray(), 0.975));
}
