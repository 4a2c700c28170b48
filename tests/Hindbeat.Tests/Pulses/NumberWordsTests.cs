using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Tests.Pulses;

public class NumberWordsTests
{
    [Theory]
    [InlineData(1, "1 bar")]
    [InlineData(0.97, "1 bar")]
    [InlineData(0.8, "0.8 bars")]
    [InlineData(2.5, "2.5 bars")]
    [InlineData(8, "8 bars")]
    public void One_bar_is_no_bars(double count, string said) => Assert.Equal(said, NumberWords.Bars(count));

    [Fact]
    public void A_passage_of_one_bar_is_said_to_hold_one() =>
        Assert.StartsWith("The passage holds 1 bar;", new FewBars(1.0).Text, StringComparison.Ordinal);
}
